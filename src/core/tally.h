/*
 * Many marks added up: what was heard and what went wrong, by phase of each routine. The order in
 * which the marks are added makes no difference.
 */
#ifndef SL_CORE_TALLY_H
#define SL_CORE_TALLY_H

#include "core/routine.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* One phase of one recording. */
struct sl_tally_step {
    char *phase; /* id; owned */
    bool heard, unclear, settled;
    size_t faults[SL_FAULT_KIND_COUNT];
};

/* One recording; texts and steps are owned. */
struct sl_tally_run {
    char *file, *junction, *routine;
    char *where;                 /* where its result stands: "marks.jsonl:12" */
    char *failure;               /* why it could not be marked; NULL: it was, and the rest holds */
    double overall;              /* 0 to 100 */
    bool driven;                 /* its words drove a car, and this came of them: */
    uint64_t came_of;            /* sl_drive_came_of */
    struct sl_tally_step *steps; /* the routine's phases in order */
    size_t n_steps, steps_room;
};

/* Initialise with {0}; release with sl_tally_clear. */
struct sl_tally {
    struct sl_tally_run *runs;
    size_t n_runs, runs_room;
};

/* A phase of a routine over all recordings. */
struct sl_tally_row {
    const char *routine, *phase; /* of the tally */
    size_t place;                /* in the routine */
    size_t runs, heard, unclear, settled;
    size_t faults[SL_FAULT_KIND_COUNT];
};

/* Adds a recording and takes it over, also when memory runs out. */
enum sl_status sl_tally_add(struct sl_tally *tally, struct sl_tally_run *run,
                            struct sl_error *error);

/* Sorts by file, junction and routine. SL_INVALID where a recording was marked twice against the
 * same junction and routine: `where` is one result, and `what` names the other. */
enum sl_status sl_tally_sort(struct sl_tally *tally, struct sl_error *error);

/* The rows by routine and place; the caller frees the array. SL_NO_MEMORY. */
enum sl_status sl_tally_rows(const struct sl_tally *tally, struct sl_tally_row **rows,
                             size_t *n_rows, struct sl_error *error);

/* Recordings that were marked, and the mean of their scores in the order of sl_tally_sort, so that
 * it is the same to the last digit; NAN without any. */
size_t sl_tally_marked(const struct sl_tally *tally, double *mean);

/* Faults and unclear phases of one recording. */
void sl_tally_count(const struct sl_tally_run *run, size_t *faults, size_t *unclear);

void sl_tally_run_clear(struct sl_tally_run *run);
void sl_tally_clear(struct sl_tally *tally);

#endif
