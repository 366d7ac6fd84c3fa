#include "core/class_grid.h"

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

/* The learner's row, made where it is not there yet; NULL when memory runs out. */
static struct sl_class_learner *row_of(struct sl_class_grid *grid, const char *name)
{
    for (size_t i = 0; i < grid->n_learners; i++) {
        if (strcmp(grid->learners[i].name, name) == 0) {
            return &grid->learners[i];
        }
    }
    struct sl_class_learner *learners =
        sl_grow(grid->learners, grid->n_learners, &grid->room, sizeof *learners);
    if (learners == NULL) {
        return NULL;
    }
    grid->learners = learners;
    char *copy = sl_strdup(name);
    if (copy == NULL) {
        return NULL;
    }
    learners[grid->n_learners] = (struct sl_class_learner){.name = copy};
    return &learners[grid->n_learners++];
}

/* The kinds of a phase's faults, as bits. */
static unsigned kinds_of(const struct sl_tally_step *step)
{
    unsigned kinds = step->unclear ? 1U << SL_FAULT_UNCLEAR : 0;
    for (unsigned kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
        kinds |= step->faults[kind] > 0 ? 1U << kind : 0;
    }
    return kinds;
}

static void add_phase(struct sl_class_grid *grid, struct sl_class_learner *learner, size_t phase,
                      unsigned kinds)
{
    unsigned faults = kinds & ~(1U << SL_FAULT_UNCLEAR);
    for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
        grid->faults[phase][kind] += (kinds >> kind) & 1U;
    }
    if (faults == 0 && kinds != 0) {
        return; /* unclear, and nothing else is known */
    }
    learner->right[phase].of++;
    grid->right[phase].of++;
    if (faults == 0) {
        learner->right[phase].hits++;
        grid->right[phase].hits++;
    }
}

enum sl_status sl_class_grid_add(struct sl_class_grid *grid, const char *learner,
                                 const struct sl_tally_run *run, struct sl_error *error)
{
    struct sl_class_learner *row = row_of(grid, learner);
    if (row == NULL) {
        return sl_fail_memory(error);
    }
    grid->n_phases = run->n_steps < SL_PHASE_MAX ? run->n_steps : SL_PHASE_MAX;
    for (size_t i = 0; i < grid->n_phases; i++) {
        add_phase(grid, row, i, kinds_of(&run->steps[i]));
    }
    row->n_runs++;
    row->score_sum += run->overall;
    return SL_OK;
}

/* Whether a larger share of `a` than of `b` was wrong; exact. */
static bool worse(const struct sl_share *a, const struct sl_share *b)
{
    return (a->of - a->hits) * b->of > (b->of - b->hits) * a->of;
}

struct sl_class_next sl_class_next(const struct sl_class_grid *grid)
{
    struct sl_class_next next = {0};
    for (size_t i = 0; i < grid->n_phases; i++) {
        const struct sl_share *share = &grid->right[i];
        if (share->hits < share->of && (!next.any || worse(share, &grid->right[next.phase]))) {
            next.any = true;
            next.phase = i;
        }
    }
    for (size_t kind = 0; next.any && kind < SL_FAULT_UNCLEAR; kind++) {
        if (grid->faults[next.phase][kind] > next.runs) {
            next.fault = (enum sl_fault_kind)kind;
            next.runs = grid->faults[next.phase][kind];
        }
    }
    return next;
}

void sl_class_grid_clear(struct sl_class_grid *grid)
{
    for (size_t i = 0; i < grid->n_learners; i++) {
        free(grid->learners[i].name);
    }
    free(grid->learners);
    *grid = (struct sl_class_grid){0};
}
