/* A bag that was read against what its tag files say: RFC 8493, sections 2 and 3. */
#include "files/bag_parts.h"

#include <stdlib.h>
#include <string.h>

#define DECLARED "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"

enum sl_status sl_bag_refuse(const struct sl_bag *bag, const char *name, enum sl_status status,
                             struct sl_error *error, const char *format, ...)
{
    struct sl_str what = {0};
    if (name != NULL) {
        sl_str_addf(&what, "%s: ", name);
    }
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&what, format, args);
    va_end(args);
    sl_fail(error, status, bag->path, "ask for the bag anew, packed by sayline", "%s",
            sl_str_text(&what));
    sl_str_clear(&what);
    return status;
}

bool sl_bag_is_payload(const char *name)
{
    return strncmp(name, "data/", 5) == 0;
}

const char *sl_bag_name_flaw(const char *name)
{
    static const char right[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./";
    if (name[0] == '\0' || strlen(name) > 200) {
        return "a name is empty or too long";
    }
    if (name[0] == '/' || strchr(name, ':') != NULL) {
        return "the path is absolute";
    }
    if (strchr(name, '~') != NULL) {
        return "the path leads to a home folder";
    }
    if (strchr(name, '\\') != NULL) {
        return "the path has a backslash";
    }
    for (const char *at = name; at != NULL; at = strchr(at, '/')) {
        at += *at == '/' ? 1 : 0;
        size_t length = strcspn(at, "/");
        if (length == 2 && strncmp(at, "..", 2) == 0) {
            return "the path leads out of the bag";
        }
        if (length == 0 || (length == 1 && *at == '.')) {
            return "the path has an empty part";
        }
    }
    return name[strspn(name, right)] == '\0'
               ? NULL
               : "the name has other characters than letters, digits, - _ and .";
}

static struct sl_bag_entry *find(const struct sl_bag *bag, const char *name)
{
    for (size_t i = 0; i < bag->n_entries; i++) {
        if (strcmp(bag->entries[i].name, name) == 0) {
            return &bag->entries[i];
        }
    }
    return NULL;
}

/* A manifest: the tag file, and what it lists by what. */
struct manifest {
    const struct sl_bag_entry *entry;
    enum sl_checksum kind;
    bool payload; /* else the other tag files */
};

/* The manifest that the entry is; false: none. The kind SL_CHECKSUM_COUNT: not known. */
static bool manifest_of(const struct sl_bag_entry *entry, struct manifest *manifest)
{
    static const char tag[] = "tag";
    static const char word[] = "manifest-";
    bool payload = strncmp(entry->name, tag, strlen(tag)) != 0;
    const char *name = entry->name + (payload ? 0 : strlen(tag));
    if (strncmp(name, word, strlen(word)) != 0) {
        return false;
    }
    name += strlen(word);
    *manifest = (struct manifest){.entry = entry, .kind = SL_CHECKSUM_COUNT, .payload = payload};
    for (size_t kind = 0; kind < SL_CHECKSUM_COUNT; kind++) {
        const char *known = sl_checksum_name((enum sl_checksum)kind);
        if (strncmp(name, known, strlen(known)) == 0 && strcmp(name + strlen(known), ".txt") == 0) {
            manifest->kind = (enum sl_checksum)kind;
        }
    }
    return true;
}

/* Whether it is to list a file of that name. */
static bool lists(const struct manifest *manifest, const char *name)
{
    return sl_bag_is_payload(name) == manifest->payload && strncmp(name, "tagmanifest-", 12) != 0;
}

/* One line "HEX  NAME" of a manifest, its end cut off. */
static enum sl_status check_line(struct sl_bag *bag, const struct manifest *manifest, char *line,
                                 struct sl_error *error)
{
    const char *list = manifest->entry->name;
    size_t digits = strspn(line, "0123456789abcdefABCDEF");
    size_t blanks = strspn(line + digits, " \t");
    char *name = line + digits + blanks;
    if (digits != sl_checksum_digits(manifest->kind) || blanks == 0 || *name == '\0') {
        return sl_bag_refuse(bag, list, SL_FORMAT, error, "a line of the manifest is broken");
    }
    name += strncmp(name, "*", 1) == 0 ? 1 : 0; /* as sha512sum -b writes */
    const char *flaw = sl_bag_name_flaw(name);
    if (flaw != NULL) {
        return sl_bag_refuse(bag, list, SL_INVALID, error, "%s", flaw);
    }
    if (!lists(manifest, name)) {
        return sl_bag_refuse(bag, name, SL_FORMAT, error, "%s lists what it must not", list);
    }
    struct sl_bag_entry *entry = find(bag, name);
    if (entry == NULL) {
        return sl_bag_refuse(bag, name, SL_INVALID, error, "the file is listed but missing");
    }
    if (entry->listed[manifest->kind]) {
        return sl_bag_refuse(bag, name, SL_FORMAT, error, "the file is listed twice");
    }
    entry->listed[manifest->kind] = true;
    for (size_t i = 0; i < digits; i++) {
        line[i] = (char)(line[i] >= 'A' && line[i] <= 'F' ? line[i] - 'A' + 'a' : line[i]);
    }
    line[digits] = '\0';
    return strcmp(line, entry->sums.of[manifest->kind]) == 0
               ? SL_OK
               : sl_bag_refuse(bag, name, SL_INVALID, error, "the checksum in %s is wrong", list);
}

static enum sl_status check_lines(struct sl_bag *bag, const struct manifest *manifest,
                                  struct sl_error *error)
{
    char *lines = sl_strdup(sl_str_text(&manifest->entry->text));
    enum sl_status status = lines == NULL ? sl_fail_memory(error) : SL_OK;
    char *line = lines;
    while (status == SL_OK && *line != '\0') {
        size_t length = strcspn(line, "\r\n");
        char *next = line + length + strspn(line + length, "\r\n");
        line[length] = '\0';
        status = check_line(bag, manifest, line, error);
        line = next;
    }
    free(lines);
    return status;
}

/* Every file that a manifest is to list is in it. */
static enum sl_status check_all_listed(const struct sl_bag *bag, const struct manifest *manifest,
                                       struct sl_error *error)
{
    for (size_t i = 0; i < bag->n_entries; i++) {
        const struct sl_bag_entry *entry = &bag->entries[i];
        if (lists(manifest, entry->name) && !entry->listed[manifest->kind]) {
            return sl_bag_refuse(bag, entry->name, SL_INVALID, error, "the file is not in %s",
                                 manifest->entry->name);
        }
    }
    return SL_OK;
}

/* There is a manifest of the payload and one of the tag files, and none that is not known. */
static enum sl_status check_kinds(const struct sl_bag *bag, struct sl_error *error)
{
    bool payload = false;
    bool tags = false;
    for (size_t i = 0; i < bag->n_entries; i++) {
        struct manifest manifest;
        if (manifest_of(&bag->entries[i], &manifest)) {
            if (manifest.kind == SL_CHECKSUM_COUNT) {
                return sl_bag_refuse(bag, manifest.entry->name, SL_UNSUPPORTED, error,
                                     "this kind of checksum is not known: SHA-512 and SHA-256 are");
            }
            payload = payload || manifest.payload;
            tags = tags || !manifest.payload;
        }
    }
    return payload && tags
               ? SL_OK
               : sl_bag_refuse(bag, payload ? "tagmanifest-sha512.txt" : "manifest-sha512.txt",
                               SL_FORMAT, error, "the manifest is missing");
}

static enum sl_status check_manifests(struct sl_bag *bag, struct sl_error *error)
{
    enum sl_status status = check_kinds(bag, error);
    for (size_t i = 0; i < bag->n_entries && status == SL_OK; i++) {
        struct manifest manifest;
        if (manifest_of(&bag->entries[i], &manifest)) {
            status = check_lines(bag, &manifest, error);
            status = status == SL_OK ? check_all_listed(bag, &manifest, error) : status;
        }
    }
    return status;
}

/* The value of a label in bag-info.txt, which the caller frees; NULL where there is none. */
static char *info(const char *text, const char *label)
{
    size_t length = strlen(label);
    for (const char *line = text; line != NULL; line = strchr(line, '\n')) {
        line += *line == '\n' ? 1 : 0;
        if (strncmp(line, label, length) == 0 && line[length] == ':') {
            const char *value = line + length + 1;
            value += strspn(value, " \t");
            return sl_strf("%.*s", (int)strcspn(value, "\r\n"), value);
        }
    }
    return NULL;
}

static enum sl_status check_info(const struct sl_bag *bag, struct sl_bag_said *said,
                                 struct sl_error *error)
{
    const struct sl_bag_entry *entry = find(bag, "bag-info.txt");
    if (entry == NULL) {
        return sl_bag_refuse(bag, "bag-info.txt", SL_FORMAT, error, "the file is missing");
    }
    const char *text = sl_str_text(&entry->text);
    unsigned long long octets = 0;
    unsigned long long streams = 0;
    for (size_t i = 0; i < bag->n_entries; i++) {
        bool payload = sl_bag_is_payload(bag->entries[i].name);
        octets += payload ? bag->entries[i].bytes : 0;
        streams += payload ? 1 : 0;
    }
    char *right = sl_strf("%llu.%llu", octets, streams);
    char *oxum = info(text, "Payload-Oxum");
    enum sl_status status = right == NULL ? sl_fail_memory(error) : SL_OK;
    if (status == SL_OK && (oxum == NULL || strcmp(oxum, right) != 0)) {
        status = sl_bag_refuse(bag, "bag-info.txt", SL_INVALID, error,
                               "Payload-Oxum is %s, but the payload is %s",
                               oxum == NULL ? "missing" : oxum, right);
    }
    if (status == SL_OK) {
        *said = (struct sl_bag_said){.contact = info(text, "Contact-Name"),
                                     .date = info(text, "Bagging-Date"),
                                     .agent = info(text, "Bag-Software-Agent")};
    }
    free(oxum);
    free(right);
    return status;
}

enum sl_status sl_bag_check(struct sl_bag *bag, struct sl_bag_said *said, struct sl_error *error)
{
    const struct sl_bag_entry *declared = find(bag, "bagit.txt");
    if (declared == NULL) {
        return sl_bag_refuse(bag, "bagit.txt", SL_FORMAT, error,
                             "the file is missing, so this is no bag");
    }
    if (strcmp(sl_str_text(&declared->text), DECLARED) != 0) {
        return sl_bag_refuse(bag, "bagit.txt", SL_UNSUPPORTED, error,
                             "the bag is not of BagIt version 1.0 in UTF-8");
    }
    if (find(bag, "fetch.txt") != NULL) {
        return sl_bag_refuse(bag, "fetch.txt", SL_UNSUPPORTED, error,
                             "the bag is not whole: files would have to be fetched");
    }
    enum sl_status status = check_manifests(bag, error);
    return status == SL_OK ? check_info(bag, said, error) : status;
}

void sl_bag_said_clear(struct sl_bag_said *said)
{
    free(said->contact);
    free(said->date);
    free(said->agent);
    *said = (struct sl_bag_said){0};
}
