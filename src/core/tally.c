#include "core/tally.h"

#include "core/str.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum sl_status sl_tally_add(struct sl_tally *tally, struct sl_tally_run *run,
                            struct sl_error *error)
{
    struct sl_tally_run *runs =
        sl_grow(tally->runs, tally->n_runs, &tally->runs_room, sizeof *runs);
    if (runs == NULL) {
        sl_tally_run_clear(run);
        return sl_fail_memory(error);
    }
    tally->runs = runs;
    runs[tally->n_runs++] = *run;
    *run = (struct sl_tally_run){0};
    return SL_OK;
}

static int compare_texts(const char *a, const char *b)
{
    return strcmp(a == NULL ? "" : a, b == NULL ? "" : b);
}

/* By what makes a recording the same. */
static int compare_same(const struct sl_tally_run *a, const struct sl_tally_run *b)
{
    int order = compare_texts(a->file, b->file);
    order = order != 0 ? order : compare_texts(a->junction, b->junction);
    return order != 0 ? order : compare_texts(a->routine, b->routine);
}

static int compare_runs(const void *a, const void *b)
{
    const struct sl_tally_run *x = a;
    const struct sl_tally_run *y = b;
    int order = compare_same(x, y);
    return order != 0 ? order : compare_texts(x->where, y->where);
}

enum sl_status sl_tally_sort(struct sl_tally *tally, struct sl_error *error)
{
    if (tally->n_runs > 1) {
        qsort(tally->runs, tally->n_runs, sizeof *tally->runs, compare_runs);
    }
    for (size_t i = 1; i < tally->n_runs; i++) {
        const struct sl_tally_run *run = &tally->runs[i];
        if (compare_same(run - 1, run) == 0) {
            return sl_fail(error, SL_INVALID, run->where, "leave one of the two results out",
                           "%s is there twice; the other result is %s",
                           run->file == NULL ? "a recording without a name" : run->file,
                           run[-1].where);
        }
    }
    return SL_OK;
}

static int compare_rows(const void *a, const void *b)
{
    const struct sl_tally_row *x = a;
    const struct sl_tally_row *y = b;
    int order = strcmp(x->routine, y->routine);
    if (order == 0 && x->place != y->place) {
        order = x->place < y->place ? -1 : 1;
    }
    return order != 0 ? order : strcmp(x->phase, y->phase);
}

/* The row of a phase, made where there is none; NULL when memory runs out. */
static struct sl_tally_row *row_of(struct sl_tally_row **rows, size_t *n_rows, size_t *room,
                                   const struct sl_tally_row *wanted)
{
    for (size_t i = 0; i < *n_rows; i++) {
        if (compare_rows(&(*rows)[i], wanted) == 0) {
            return &(*rows)[i];
        }
    }
    struct sl_tally_row *larger = sl_grow(*rows, *n_rows, room, sizeof *larger);
    if (larger == NULL) {
        return NULL;
    }
    *rows = larger;
    larger[*n_rows] = *wanted;
    return &larger[(*n_rows)++];
}

enum sl_status sl_tally_rows(const struct sl_tally *tally, struct sl_tally_row **rows,
                             size_t *n_rows, struct sl_error *error)
{
    struct sl_tally_row *made = NULL;
    size_t n = 0;
    size_t room = 0;
    for (size_t i = 0; i < tally->n_runs; i++) {
        const struct sl_tally_run *run = &tally->runs[i];
        for (size_t k = 0; k < run->n_steps; k++) {
            const struct sl_tally_step *step = &run->steps[k];
            const struct sl_tally_row wanted = {
                .routine = run->routine, .phase = step->phase, .place = k};
            struct sl_tally_row *row = row_of(&made, &n, &room, &wanted);
            if (row == NULL) {
                free(made);
                return sl_fail_memory(error);
            }
            row->runs++;
            row->heard += step->heard ? 1 : 0;
            row->unclear += step->unclear ? 1 : 0;
            row->settled += step->settled ? 1 : 0;
            for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
                row->faults[kind] += step->faults[kind];
            }
        }
    }
    if (n > 1) {
        qsort(made, n, sizeof *made, compare_rows);
    }
    *rows = made;
    *n_rows = n;
    return SL_OK;
}

size_t sl_tally_marked(const struct sl_tally *tally, double *mean)
{
    size_t marked = 0;
    double sum = 0;
    for (size_t i = 0; i < tally->n_runs; i++) {
        if (tally->runs[i].failure == NULL) {
            marked++;
            sum += tally->runs[i].overall;
        }
    }
    *mean = marked > 0 ? sum / (double)marked : NAN;
    return marked;
}

void sl_tally_count(const struct sl_tally_run *run, size_t *faults, size_t *unclear)
{
    *faults = 0;
    *unclear = 0;
    for (size_t i = 0; i < run->n_steps; i++) {
        *unclear += run->steps[i].unclear ? 1 : 0;
        for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
            *faults += run->steps[i].faults[kind];
        }
    }
}

void sl_tally_run_clear(struct sl_tally_run *run)
{
    for (size_t i = 0; i < run->n_steps; i++) {
        free(run->steps[i].phase);
    }
    free(run->steps);
    free(run->file);
    free(run->junction);
    free(run->routine);
    free(run->where);
    free(run->failure);
    *run = (struct sl_tally_run){0};
}

void sl_tally_clear(struct sl_tally *tally)
{
    for (size_t i = 0; i < tally->n_runs; i++) {
        sl_tally_run_clear(&tally->runs[i]);
    }
    free(tally->runs);
    *tally = (struct sl_tally){0};
}
