/*
 * A class: how often each learner had each phase right, and what to teach next.
 *
 * What to teach is the phase that was wrong in the largest share of the class's runs (the earlier
 * of equal ones), and of it the commonest kind of fault. Ours, no source.
 */
#ifndef SL_CORE_CLASS_GRID_H
#define SL_CORE_CLASS_GRID_H

#include "core/plan.h"
#include "core/statistics.h"
#include "core/tally.h"

struct sl_class_learner {
    char *name;                          /* owned */
    struct sl_share right[SL_PHASE_MAX]; /* runs in which the phase had no fault; those in which it
                                            was unclear are left out */
    size_t n_runs;
    double score_sum;
};

/* Initialise with {0}; release with sl_class_grid_clear. */
struct sl_class_grid {
    struct sl_class_learner *learners; /* in the order of their first runs */
    size_t n_learners, room;
    size_t faults[SL_PHASE_MAX][SL_FAULT_KIND_COUNT]; /* runs with at least one */
    struct sl_share right[SL_PHASE_MAX];              /* of all learners */
    size_t n_phases;
};

struct sl_class_next {
    bool any; /* false: no fault in any run, and the rest says nothing */
    size_t phase;
    enum sl_fault_kind fault;
    size_t runs; /* with that fault */
};

/* Adds a learner's marked run; all runs are of one routine. A name is taken as it is: the same name
 * is the same learner. SL_NO_MEMORY; then the grid is as it was. */
enum sl_status sl_class_grid_add(struct sl_class_grid *grid, const char *learner,
                                 const struct sl_tally_run *run, struct sl_error *error);

struct sl_class_next sl_class_next(const struct sl_class_grid *grid);

void sl_class_grid_clear(struct sl_class_grid *grid);

#endif
