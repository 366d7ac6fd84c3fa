/*
 * The user's history: what is marked goes in, and is marked anew when a rule has changed.
 */
#ifndef SL_PRACTICE_KEEP_H
#define SL_PRACTICE_KEEP_H

#include "practice/mark_recording.h"
#include "store/history.h"

#include <stddef.h>

/* $XDG_DATA_HOME/sayline/history.sqlite (~/.local/share where that is not set). The caller frees.
 * SL_NOT_FOUND where there is no home. */
enum sl_status sl_keep_path(char **path, struct sl_error *error);

/* Opens it, its folder made where it is missing. Errors as sl_history_open. */
enum sl_status sl_keep_open(struct sl_history **history, struct sl_error *error);

/*
 * Adds an attempt that was marked just now. Of `run` the caller fills in the learner, what it was
 * (rehearsed, names, prompting), `sound` (a path; NULL or "-" where none is kept), the versions,
 * routine, junction, plan and options; the rest is filled in here. SL_IO and SL_NOT_FOUND also for
 * the recording.
 */
enum sl_status sl_keep_attempt(struct sl_history *history, const struct sl_history_run *run,
                               const struct sl_attempt *attempt, struct sl_error *error);

struct sl_remarked {
    /* Called before each run, and after the last with done = of. May be NULL. */
    void (*progress)(void *user, size_t done, size_t of);
    void *user;
    size_t marked;       /* anew */
    size_t changed;      /* of these: other faults than before */
    size_t left;         /* as they were, as something they need is gone */
    struct sl_error why; /* of the first that was left; release with sl_error_clear */
};

/* Marks all runs of a learner anew, from what was heard then, by the routines, junctions and cars
 * as they are now. Of *done the caller fills in `progress` and `user`; the rest begins as 0. */
enum sl_status sl_keep_remark(struct sl_history *history, const char *learner, const char *version,
                              struct sl_remarked *done, struct sl_error *error);

#endif
