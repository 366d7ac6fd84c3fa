#include "files/cue_manifest.h"

#include "core/str.h"
#include "files/models.h"
#include "files/path.h"

#include <stdlib.h>
#include <string.h>

void sl_cue_manifest_clear(struct sl_cue_manifest *manifest)
{
    for (size_t i = 0; i < manifest->n_entries; i++) {
        free(manifest->entries[i].text);
        free(manifest->entries[i].file);
    }
    free(manifest->entries);
    free(manifest->folder);
    free(manifest->title);
    free(manifest->origin);
    *manifest = (struct sl_cue_manifest){0};
}

static size_t index_of(const struct sl_cue_manifest *manifest, const char *text)
{
    size_t i = 0;
    while (i < manifest->n_entries && strcmp(manifest->entries[i].text, text) != 0) {
        i++;
    }
    return i;
}

const struct sl_cue_entry *sl_cue_manifest_find(const struct sl_cue_manifest *manifest,
                                                const char *text)
{
    size_t i = index_of(manifest, text);
    return i < manifest->n_entries ? &manifest->entries[i] : NULL;
}

enum sl_status sl_cue_manifest_put(struct sl_cue_manifest *manifest,
                                   const struct sl_cue_entry *entry, struct sl_error *error)
{
    struct sl_cue_entry copy = *entry;
    size_t place = index_of(manifest, entry->text);
    struct sl_cue_entry *entries =
        sl_grow(manifest->entries, manifest->n_entries, &manifest->room, sizeof *entries);
    if (entries != NULL) {
        manifest->entries = entries;
    }
    copy.text = sl_strdup(entry->text);
    copy.file = sl_strdup(entry->file);
    if (entries == NULL || copy.text == NULL || copy.file == NULL) {
        free(copy.text);
        free(copy.file);
        return sl_fail_memory(error);
    }
    if (place < manifest->n_entries) {
        free(entries[place].text);
        free(entries[place].file);
    } else {
        manifest->n_entries++;
    }
    entries[place] = copy;
    return SL_OK;
}

char *sl_cue_entry_path(const struct sl_cue_manifest *manifest, const struct sl_cue_entry *entry)
{
    return sl_strf("%s/%s", manifest->folder, entry->file);
}

char *sl_cue_file_name(const char *text)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
    static const char plain[] = "abcdefghijklmnopqrstuvwxyz0123456789abcdefghijklmnopqrstuvwxyz";
    struct sl_str name = {0};
    for (const char *at = text; *at != '\0'; at++) {
        const char *found = strchr(letters, *at);
        if (found != NULL) {
            sl_str_add_bytes(&name, &plain[found - letters], 1);
        } else if (name.length > 0 && name.text[name.length - 1] != '-') {
            sl_str_add(&name, "-");
        }
    }
    while (name.length > 0 && name.text[name.length - 1] == '-') {
        name.text[--name.length] = '\0';
    }
    if (name.length == 0) {
        sl_str_add(&name, "cue");
    }
    sl_str_add(&name, ".flac");
    return sl_str_take(&name);
}

static bool has_manifest(const char *folder)
{
    char *path = sl_strf("%s/" SL_CUE_MANIFEST_FILE, folder);
    bool there = path != NULL && sl_path_exists(path);
    free(path);
    return there;
}

/* Beside the models, then in the source tree; *folder NULL when it is in neither. */
static enum sl_status search(const char *name, char **folder, struct sl_error *error)
{
    char *relative = sl_strf("cues/%s/" SL_CUE_MANIFEST_FILE, name);
    if (relative == NULL) {
        return sl_fail_memory(error);
    }
    char *path = NULL;
    enum sl_status status = sl_models_path(relative, &path, NULL);
    free(relative);
    if (status == SL_OK) {
        *strrchr(path, '/') = '\0';
        *folder = path;
        return SL_OK;
    }
    char *source = sl_strf(SL_CUES_SOURCE "/%s", name);
    if (source == NULL || status == SL_NO_MEMORY) {
        free(source);
        return sl_fail_memory(error);
    }
    if (!has_manifest(source)) {
        free(source);
        return SL_NOT_FOUND;
    }
    *folder = source;
    return SL_OK;
}

enum sl_status sl_cue_pack_folder(const char *name, char **folder, struct sl_error *error)
{
    enum sl_status status = SL_NOT_FOUND;
    if (strchr(name, '/') != NULL) {
        if (has_manifest(name)) {
            *folder = sl_strdup(name);
            return *folder != NULL ? SL_OK : sl_fail_memory(error);
        }
    } else if (name[0] != '\0' && name[0] != '.') {
        status = search(name, folder, error);
    }
    if (status != SL_NOT_FOUND) {
        return status;
    }
    return sl_fail(error, SL_NOT_FOUND, name,
                   "give the name of an installed pack, or a folder with a slash in it such as "
                   "'./my-cues'",
                   "there is no cue pack (" SL_CUE_MANIFEST_FILE ") of that name");
}
