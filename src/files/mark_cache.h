/*
 * Marks that were made before, so that the same recording need not be heard twice: a line each as
 * of `sayline mark --json` in $XDG_CACHE_HOME/sayline/marks (~/.cache/sayline/marks).
 *
 * A mark is found again only where all is the same: the recording to the last byte, the program,
 * its pronunciations, the routine, the car, the plan of the approach with what it asks for, and
 * where the recording's time begins.
 * All of it may be deleted at any time. Nothing here fails: what cannot be kept is made again.
 */
#ifndef SL_FILES_MARK_CACHE_H
#define SL_FILES_MARK_CACHE_H

#include "core/sha256.h"
#include "core/tally.h"
#include "files/result_json.h"

#include <stdbool.h>

#define SL_MARK_CACHE_DAYS 60 /* a mark that nobody asked for so long is removed */

struct sl_mark_cache {
    char *folder;                /* NULL: no marks are kept */
    char made_by[SL_SHA256_HEX]; /* program and models */
};

/* Opens it for marks that rest on these files of models, and removes old ones. */
void sl_mark_cache_open(struct sl_mark_cache *cache, const char *const *models, size_t n_models);
void sl_mark_cache_close(struct sl_mark_cache *cache);

/* What a mark is of; nothing is owned. */
struct sl_mark_cache_key {
    const struct sl_planned *against;
    double from_s;
    bool driven; /* the mark tells of a drive, too */
    const char *recording;
};

/* Where the mark of a recording is, there or not; the caller frees. NULL: it cannot be kept. */
char *sl_mark_cache_path(const struct sl_mark_cache *cache, const struct sl_mark_cache_key *key);

/* True when it is there: then it was added to the tally. */
bool sl_mark_cache_find(const char *path, struct sl_tally *tally);

/* Keeps a line; NULL for `path` is fine. */
void sl_mark_cache_keep(const char *path, const char *line);

#endif
