/*
 * Forgetting a learner: the history, the recordings, and what the drills remember.
 */
#ifndef SL_PRACTICE_FORGET_H
#define SL_PRACTICE_FORGET_H

#include "store/history.h"

#include <stdbool.h>
#include <stddef.h>

/* What there is of a learner. Initialise with {0}; release with sl_forget_clear. */
struct sl_forget {
    char *learner;
    char *data;   /* the folder of all learners */
    char *folder; /* the learner's own */
    char **files; /* to be removed: all that lies in the learner's recordings/, what
                     prompting and recall remember, the voice that an earlier sayline kept */
    size_t n_files, files_room;
    char **elsewhere; /* recordings that the history names and that lie outside: never removed */
    size_t n_elsewhere;
    size_t n_runs, n_answers; /* in the history */
    bool known;               /* there is something to forget */
};

/*
 * Looks for all of it; changes nothing. `history` may be NULL: there is none. SL_INVALID when the
 * learner's folder, or its recordings/, is a link that leads out of the user's data folder: what is
 * behind it is not touched.
 */
enum sl_status sl_forget_find(struct sl_history *history, const char *learner,
                              struct sl_forget *forget, struct sl_error *error);

/* Does it: the files first, so that a second try after an interruption still knows of the rest.
 * SL_IO. `history` as above. */
enum sl_status sl_forget_do(struct sl_history *history, const struct sl_forget *forget,
                            struct sl_error *error);

void sl_forget_clear(struct sl_forget *forget);

#endif
