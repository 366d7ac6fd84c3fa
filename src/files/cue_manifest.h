/*
 * The manifest of a cue pack: which text is in which sound file, how long and how loud. A pack is a
 * folder with manifest.yaml and the sound files beside it; docs/formats.md, "Cue pack".
 *
 * Packs are found by name in the folder cues/ of every place that files/models.h searches, and in
 * the source tree's audio/cues.
 */
#ifndef SL_FILES_CUE_MANIFEST_H
#define SL_FILES_CUE_MANIFEST_H

#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

#define SL_CUE_MANIFEST_FILE "manifest.yaml"
#define SL_CUE_ENTRIES_MAX 2000

struct sl_cue_entry {
    char *text; /* as asked for: "Turn left." */
    char *file; /* a name in the pack's folder, no path */
    double length_s;
    double lufs; /* integrated loudness */
    double dbtp; /* true peak */
};

/* Initialise with {0}; release with sl_cue_manifest_clear. */
struct sl_cue_manifest {
    char *folder; /* of the pack; owned */
    char *title;  /* for people */
    char *origin; /* whose voice, how it was made, under what terms */
    struct sl_cue_entry *entries;
    size_t n_entries;
    size_t room;
};

/* The folder of a pack: `name` as it is when it has a slash, else searched. The caller frees.
 * SL_NOT_FOUND when there is no manifest. */
enum sl_status sl_cue_pack_folder(const char *name, char **folder, struct sl_error *error);

/*
 * Reads and checks folder/manifest.yaml. SL_NOT_FOUND, SL_IO, SL_FORMAT; SL_INVALID with its line
 * for a key that is not known, a file name with a slash, a text given twice, figures out of range.
 */
enum sl_status sl_load_cue_manifest(const char *folder, struct sl_cue_manifest *manifest,
                                    struct sl_error *error);

/* The same from text; `origin` is named in errors; manifest->folder is set to `folder`. */
enum sl_status sl_parse_cue_manifest(const char *text, const char *origin, const char *folder,
                                     struct sl_cue_manifest *manifest, struct sl_error *error);

/* Writes folder/manifest.yaml, whole or not at all. SL_IO. */
enum sl_status sl_save_cue_manifest(const struct sl_cue_manifest *manifest, struct sl_error *error);

/* The entry for a text, or NULL. Upper and lower case count. */
const struct sl_cue_entry *sl_cue_manifest_find(const struct sl_cue_manifest *manifest,
                                                const char *text);

/* Adds an entry or replaces the one of that text; the strings are copied. */
enum sl_status sl_cue_manifest_put(struct sl_cue_manifest *manifest,
                                   const struct sl_cue_entry *entry, struct sl_error *error);

/* The path of an entry's file, which the caller frees; NULL when memory runs out. */
char *sl_cue_entry_path(const struct sl_cue_manifest *manifest, const struct sl_cue_entry *entry);

/* A file name for a text: "t-junction.flac" for "T-junction.", letters, digits and hyphens. The
 * caller frees; NULL when memory runs out. */
char *sl_cue_file_name(const char *text);

void sl_cue_manifest_clear(struct sl_cue_manifest *manifest);

#endif
