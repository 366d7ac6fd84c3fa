/* Reading and writing the manifest of a cue pack: docs/formats.md, "Cue pack". */
#include "files/cue_manifest.h"

#include "core/str.h"
#include "files/path.h"
#include "files/reader.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const struct sl_limits length_limits = {0, 30, "a length of 0 to 30 s"};
static const struct sl_limits lufs_limits = {-70, 0, "a loudness of -70 to 0 LUFS"};
static const struct sl_limits dbtp_limits = {-120, 6, "a true peak of -120 to 6 dBTP"};

static void read_entry(struct sl_reader *reader, const struct sl_yaml_node *node,
                       struct sl_cue_manifest *manifest)
{
    static const char *const keys[] = {"text", "file", "length", "lufs", "dbtp", NULL};
    struct sl_cue_entry entry = {0};
    if (!sl_is_map(reader, node, "text: Turn left.")) {
        return;
    }
    sl_only_keys(reader, node, keys);
    const struct sl_yaml_node *text = sl_need(reader, node, "text", "Turn left.");
    sl_take_text(reader, text, &entry.text);
    const struct sl_yaml_node *file = sl_need(reader, node, "file", "turn-left.flac");
    sl_take_text(reader, file, &entry.file);
    sl_take_quantity(reader, sl_need(reader, node, "length", "0.8 s"), SL_QUANTITY_TIME,
                     &length_limits, &entry.length_s);
    sl_take_number(reader, sl_need(reader, node, "lufs", "-23.0"), &lufs_limits, &entry.lufs);
    sl_take_number(reader, sl_need(reader, node, "dbtp", "-6.0"), &dbtp_limits, &entry.dbtp);
    if (reader->status == SL_OK && (strchr(entry.file, '/') != NULL || entry.file[0] == '.')) {
        sl_refuse(reader, file, "name a file in the manifest's own folder",
                  "'%s' is no plain file name", entry.file);
    }
    if (reader->status == SL_OK && sl_cue_manifest_find(manifest, entry.text) != NULL) {
        sl_refuse(reader, text, "keep one of the two", "the text '%s' is there twice", entry.text);
    }
    if (reader->status == SL_OK && sl_cue_manifest_put(manifest, &entry, NULL) != SL_OK) {
        sl_refuse_memory(reader);
    }
    free(entry.text);
    free(entry.file);
}

static void read_manifest(struct sl_reader *reader, const struct sl_yaml_node *root,
                          struct sl_cue_manifest *manifest)
{
    static const char *const keys[] = {"title", "origin", "cues", NULL};
    sl_only_keys(reader, root, keys);
    sl_take_text(reader, sl_yaml_get(root, "title"), &manifest->title);
    sl_take_text(reader, sl_yaml_get(root, "origin"), &manifest->origin);
    const struct sl_yaml_node *list = sl_need(reader, root, "cues", "[]");
    if (!sl_is_list(reader, list, "one '- text: ...' a cue")) {
        return;
    }
    if (sl_yaml_count(list) > SL_CUE_ENTRIES_MAX) {
        sl_refuse(reader, list, "split the pack", "a pack has at most %d cues", SL_CUE_ENTRIES_MAX);
        return;
    }
    for (const struct sl_yaml_node *item = list->first; item != NULL; item = item->next) {
        read_entry(reader, item, manifest);
    }
}

enum sl_status sl_parse_cue_manifest(const char *text, const char *origin, const char *folder,
                                     struct sl_cue_manifest *manifest, struct sl_error *error)
{
    struct sl_yaml yaml = {0};
    struct sl_cue_manifest made = {.folder = sl_strdup(folder)};
    struct sl_reader reader = {.origin = origin, .error = error};
    reader.status = sl_yaml_parse(text, strlen(text), origin, &yaml, error);
    if (made.folder == NULL) {
        sl_refuse_memory(&reader);
    }
    if (reader.status == SL_OK) {
        read_manifest(&reader, yaml.root, &made);
    }
    sl_yaml_clear(&yaml);
    if (reader.status != SL_OK) {
        sl_cue_manifest_clear(&made);
        return reader.status;
    }
    sl_cue_manifest_clear(manifest);
    *manifest = made;
    return SL_OK;
}

enum sl_status sl_load_cue_manifest(const char *folder, struct sl_cue_manifest *manifest,
                                    struct sl_error *error)
{
    char *path = sl_strf("%s/" SL_CUE_MANIFEST_FILE, folder);
    if (path == NULL) {
        return sl_fail_memory(error);
    }
    struct sl_str text = {0};
    enum sl_status status = sl_read_text_file(path, SL_YAML_SIZE_MAX, &text, error);
    if (status == SL_OK) {
        status = sl_parse_cue_manifest(sl_str_text(&text), path, folder, manifest, error);
    }
    sl_str_clear(&text);
    free(path);
    return status;
}

/* Adds `text` in double quotes. */
static void add_quoted(struct sl_str *out, const char *text)
{
    sl_str_add(out, "\"");
    for (const char *at = text; *at != '\0'; at++) {
        sl_str_add(out, *at == '"' || *at == '\\' ? "\\" : "");
        sl_str_add_bytes(out, at, 1);
    }
    sl_str_add(out, "\"");
}

static void add_manifest(struct sl_str *out, const struct sl_cue_manifest *manifest)
{
    if (manifest->title != NULL) {
        sl_str_add(out, "title: ");
        add_quoted(out, manifest->title);
        sl_str_add(out, "\n");
    }
    if (manifest->origin != NULL) {
        sl_str_add(out, "origin: ");
        add_quoted(out, manifest->origin);
        sl_str_add(out, "\n");
    }
    sl_str_add(out, manifest->n_entries > 0 ? "cues:\n" : "cues: []\n");
    for (size_t i = 0; i < manifest->n_entries; i++) {
        const struct sl_cue_entry *entry = &manifest->entries[i];
        sl_str_add(out, "  - text: ");
        add_quoted(out, entry->text);
        sl_str_addf(out, "\n    file: %s\n    length: %.3f s\n    lufs: %.1f\n    dbtp: %.1f\n",
                    entry->file, entry->length_s, entry->lufs, entry->dbtp);
    }
}

/* Writes and syncs; false with errno set. */
static bool write_whole(const char *path, const struct sl_str *text)
{
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        return false;
    }
    bool fine = fwrite(sl_str_text(text), 1, text->length, file) == text->length;
    fine = fflush(file) == 0 && fine;
    fine = fine && fsync(fileno(file)) == 0;
    return fclose(file) == 0 && fine;
}

enum sl_status sl_save_cue_manifest(const struct sl_cue_manifest *manifest, struct sl_error *error)
{
    struct sl_str text = {0};
    add_manifest(&text, manifest);
    char *path = sl_strf("%s/" SL_CUE_MANIFEST_FILE, manifest->folder);
    char *part = sl_strf("%s/" SL_CUE_MANIFEST_FILE ".part", manifest->folder);
    enum sl_status status = SL_OK;
    if (path == NULL || part == NULL || text.failed) {
        status = sl_fail_memory(error);
    } else if (!write_whole(part, &text) || rename(part, path) != 0) {
        status = sl_fail(error, SL_IO, path, "check the folder and the free space",
                         "the manifest cannot be written: %s", strerror(errno));
        (void)unlink(part);
    }
    sl_str_clear(&text);
    free(path);
    free(part);
    return status;
}
