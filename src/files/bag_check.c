/* A bag that was read against what its tag files say: RFC 8493, sections 2 and 3. */
#include "files/bag_parts.h"

#include <stdlib.h>
#include <string.h>

#define MANIFEST "manifest-sha512.txt"
#define TAG_MANIFEST "tagmanifest-sha512.txt"
#define DECLARED "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"

enum sl_status sl_bag_refuse(const struct sl_bag *bag, const char *name, enum sl_status status,
                             struct sl_error *error, const char *format, ...)
{
    struct sl_str where = {0};
    struct sl_str what = {0};
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&what, format, args);
    va_end(args);
    sl_str_add(&where, bag->path);
    if (name != NULL) {
        sl_str_addf(&where, ": %s", name);
    }
    sl_fail(error, status, sl_str_text(&where), "ask for the bag anew, packed by sayline", "%s",
            sl_str_text(&what));
    sl_str_clear(&where);
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

/* One line "HEX  NAME" of a manifest, its end cut off. */
static enum sl_status check_line(struct sl_bag *bag, const char *manifest, char *line,
                                 struct sl_error *error)
{
    size_t digits = strspn(line, "0123456789abcdefABCDEF");
    size_t blanks = strspn(line + digits, " \t");
    char *name = line + digits + blanks;
    bool payload = strcmp(manifest, MANIFEST) == 0;
    if (digits != SL_SHA512_HEX - 1 || blanks == 0 || *name == '\0') {
        return sl_bag_refuse(bag, manifest, SL_FORMAT, error, "a line of the manifest is broken");
    }
    name += strncmp(name, "*", 1) == 0 ? 1 : 0; /* as sha512sum -b writes */
    const char *flaw = sl_bag_name_flaw(name);
    if (flaw != NULL) {
        return sl_bag_refuse(bag, manifest, SL_INVALID, error, "%s", flaw);
    }
    if (sl_bag_is_payload(name) != payload || strncmp(name, "tagmanifest-", 12) == 0) {
        return sl_bag_refuse(bag, name, SL_FORMAT, error, "%s lists what it must not", manifest);
    }
    struct sl_bag_entry *entry = find(bag, name);
    if (entry == NULL) {
        return sl_bag_refuse(bag, name, SL_INVALID, error, "the file is listed but missing");
    }
    if (entry->listed) {
        return sl_bag_refuse(bag, name, SL_FORMAT, error, "the file is listed twice");
    }
    entry->listed = true;
    for (size_t i = 0; i < digits; i++) {
        line[i] = (char)(line[i] >= 'A' && line[i] <= 'F' ? line[i] - 'A' + 'a' : line[i]);
    }
    line[digits] = '\0';
    return strcmp(line, entry->hex) == 0
               ? SL_OK
               : sl_bag_refuse(bag, name, SL_INVALID, error, "the checksum is wrong");
}

static enum sl_status check_manifest(struct sl_bag *bag, const char *manifest,
                                     struct sl_error *error)
{
    const struct sl_bag_entry *entry = find(bag, manifest);
    if (entry == NULL) {
        return sl_bag_refuse(bag, manifest, SL_FORMAT, error, "the manifest is missing");
    }
    char *lines = sl_strdup(sl_str_text(&entry->text));
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

/* Every file but the tag manifest was listed, and there is nothing of what is not understood. */
static enum sl_status check_listed(const struct sl_bag *bag, struct sl_error *error)
{
    for (size_t i = 0; i < bag->n_entries; i++) {
        const char *name = bag->entries[i].name;
        bool manifest =
            strncmp(name, "manifest-", 9) == 0 || strncmp(name, "tagmanifest-", 12) == 0;
        if (manifest && strcmp(name, MANIFEST) != 0 && strcmp(name, TAG_MANIFEST) != 0) {
            return sl_bag_refuse(bag, name, SL_UNSUPPORTED, error,
                                 "only SHA-512 is taken, not this kind of checksum");
        }
        if (strcmp(name, "fetch.txt") == 0) {
            return sl_bag_refuse(bag, name, SL_UNSUPPORTED, error,
                                 "the bag is not whole: files would have to be fetched");
        }
        if (!bag->entries[i].listed && strcmp(name, TAG_MANIFEST) != 0) {
            return sl_bag_refuse(bag, name, SL_INVALID, error, "the file is in no manifest");
        }
    }
    return SL_OK;
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
    enum sl_status status = check_manifest(bag, MANIFEST, error);
    if (status == SL_OK) {
        status = check_manifest(bag, TAG_MANIFEST, error);
    }
    if (status == SL_OK) {
        status = check_listed(bag, error);
    }
    return status == SL_OK ? check_info(bag, said, error) : status;
}

void sl_bag_said_clear(struct sl_bag_said *said)
{
    free(said->contact);
    free(said->date);
    free(said->agent);
    *said = (struct sl_bag_said){0};
}
