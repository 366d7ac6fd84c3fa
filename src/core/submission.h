/*
 * Homework that was handed in and marked again from its sound.
 */
#ifndef SL_CORE_SUBMISSION_H
#define SL_CORE_SUBMISSION_H

#include "core/class_grid.h"
#include "core/homework.h"
#include "core/tally.h"

/* Scores nearer than this are the same: they are kept to fewer decimals than they are computed. */
#define SL_SUBMISSION_SAME_SCORE 0.01

/* One recording. Texts are owned but `objection`. */
struct sl_submission_run {
    char *file;      /* its name in the bag */
    char *junction;  /* name */
    bool was_marked; /* a mark was handed in with it: */
    double was_score;
    size_t was_faults;
    uint64_t was_came_of; /* of a drive: sl_drive_came_of */
    bool marked;          /* by us: */
    double score;
    size_t faults;
    bool driven; /* its words drove a car, and this came of them by our mark: */
    uint64_t came_of;
    const char *objection; /* why it does not count; NULL: it does */
    char *failure;         /* why it could not be marked; NULL: it could, or need not */
};

/* One bag. Initialise with {0}; release with sl_submission_clear. Texts are owned. */
struct sl_submission {
    char *bag;            /* path */
    char *learner, *date; /* as the bag says; NULL: not said, or not by name */
    char *refusal;        /* why it was not taken, without the path; NULL: it was */
    struct sl_submission_run *runs;
    size_t n_runs, room;
    struct sl_homework_state state; /* of the set, by our marks */
};

/* Whose it is, as far as is known: the learner, else the name of the bag's file. Of the submission.
 */
const char *sl_submission_name(const struct sl_submission *submission);

/* True when the score or the faults handed in are not ours; and so for what came of a drive. */
bool sl_submission_mark_differs(const struct sl_submission_run *run);
bool sl_submission_drive_differs(const struct sl_submission_run *run);

/* True when either is so. */
bool sl_submission_differs(const struct sl_submission_run *run);

/* How many runs differ so. */
size_t sl_submission_n_different(const struct sl_submission *submission);

void sl_submission_clear(struct sl_submission *submission);

/* All that was collected for a set; nothing is owned. */
struct sl_class {
    const struct sl_homework *set;
    const struct sl_submission *submissions;
    size_t n_submissions;
    const struct sl_tally *tally;     /* our marks, for the faults by phase */
    const struct sl_class_grid *grid; /* the same by learner and phase */
    const struct sl_routine *routine; /* of the set */
};

#endif
