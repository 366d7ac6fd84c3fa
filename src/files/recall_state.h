/*
 * What the recall drill remembers of each item: recall.json in the user's data folder. JSON, so
 * that people can read, move and mend it; docs/formats.md, "State of the recall drill".
 */
#ifndef SL_FILES_RECALL_STATE_H
#define SL_FILES_RECALL_STATE_H

#include "core/spacing.h"
#include "core/status.h"

#include <stddef.h>

#define SL_RECALL_STATE_VERSION 1

struct sl_recall_entry {
    char *id; /* owned */
    struct sl_memory memory;
};

/* Initialise with {0}; release with sl_recall_state_clear. */
struct sl_recall_state {
    struct sl_recall_entry *entries;
    size_t count;
    size_t room;
};

/* recall.json in the learner's folder (learner.h). The caller frees. SL_NOT_FOUND where there is no
 * home. */
enum sl_status sl_recall_state_path(const char *learner, char **path, struct sl_error *error);

/*
 * Reads the state; a file that does not exist is an empty one. SL_FORMAT for what is not such a
 * file, SL_UNSUPPORTED for one of a later version, SL_IO; the file is never changed then. Replaces
 * what *state held.
 */
enum sl_status sl_recall_state_load(const char *path, struct sl_recall_state *state,
                                    struct sl_error *error);

/* The memory of an item; {0} when it was never asked. */
struct sl_memory sl_recall_state_get(const struct sl_recall_state *state, const char *id);

/*
 * Reads the file anew, sets one item and writes it, whole or not at all: what another session wrote
 * meanwhile stays. Errors as sl_recall_state_load, and SL_IO when it cannot be written.
 */
enum sl_status sl_recall_state_put(const char *path, const char *id, const struct sl_memory *memory,
                                   struct sl_error *error);

/* NULL is fine. */
void sl_recall_state_clear(struct sl_recall_state *state);

#endif
