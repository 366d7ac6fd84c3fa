/*
 * The file FILE.settled.json beside a recording: what an instructor decided about its unclear
 * phases. docs/formats.md, "Settled file".
 */
#ifndef SL_FILES_SETTLED_FILE_H
#define SL_FILES_SETTLED_FILE_H

#include "core/settling.h"

#include <stdbool.h>

/* Initialise with {0}; release with sl_settled_clear. */
struct sl_settled_file {
    struct sl_settlements settlements;
    char *by; /* who decided; NULL: not said; owned */
    char *on; /* the day, "2026-03-14"; NULL: not said; owned */
};

/* The path of the file of a recording: ".settled.json" behind its whole name. The caller frees;
 * NULL when memory runs out. */
char *sl_settled_path(const char *recording);

/*
 * Writes the decisions beside the recording, atomically, with the recording's length and SHA-256
 * and the names of junction and routine. SL_IO also where the recording cannot be read,
 * SL_NO_MEMORY.
 */
enum sl_status sl_settled_save(const char *recording, const struct sl_task *task,
                               const struct sl_settled_file *settled, struct sl_error *error);

/*
 * Reads the file of a recording. SL_NOT_FOUND without one; SL_FORMAT for what is no such file,
 * or of another version; SL_INVALID where the recording is no longer the one that was settled, or
 * the task is of another junction or routine: decisions made for another question are not used.
 * Each mend names the option that marks without the file. SL_IO, SL_TOO_LARGE, SL_NO_MEMORY.
 */
enum sl_status sl_settled_load(const char *recording, const struct sl_task *task,
                               struct sl_settled_file *settled, struct sl_error *error);

/* Removes the file of a recording. SL_NOT_FOUND when there is none, SL_IO. */
enum sl_status sl_settled_remove(const char *recording, struct sl_error *error);

/* NULL is fine. */
void sl_settled_clear(struct sl_settled_file *settled);

#endif
