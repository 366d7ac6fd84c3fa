#include "core/align.h"

#include <stdbool.h>
#include <stdlib.h>

#define ALIGN_TOKENS_MAX 10000

const struct sl_align_costs sl_align_sclite = {.insertion = 3, .deletion = 3, .substitution = 4};
const struct sl_align_costs sl_align_levenshtein = {
    .insertion = 1, .deletion = 1, .substitution = 1};
const struct sl_align_costs sl_align_moves = {.insertion = 1, .deletion = 1, .substitution = 3};

enum step { STEP_PAIR, STEP_DELETION, STEP_INSERTION };

/* What the best alignment of a prefix of ref with a prefix of hyp amounts to. */
struct cell {
    double cost, gain;
};

/* The table of last steps: two bits a cell, so that the largest allowed pair takes 25 MB. */
struct table {
    const struct sl_align_input *input;
    const struct sl_align_costs *costs;
    unsigned char *steps;
    struct cell *above, *here; /* rows of n_hyp + 1 */
};

static void set_step(struct table *table, size_t row, size_t column, enum step step)
{
    size_t cell = row * (table->input->n_hyp + 1) + column;
    table->steps[cell / 4] |= (unsigned char)((unsigned)step << (2 * (cell % 4)));
}

static enum step get_step(const struct table *table, size_t row, size_t column)
{
    size_t cell = row * (table->input->n_hyp + 1) + column;
    unsigned four = table->steps[cell / 4];
    return (enum step)((four >> (2 * (cell % 4))) & 3U);
}

static bool better(const struct cell *a, const struct cell *b)
{
    return a->cost < b->cost || (!(b->cost < a->cost) && a->gain > b->gain);
}

/* Fills the cell of two prefixes that are both longer than 0. Where cost and gain tie, a pair is
 * taken before a deletion, a deletion before an insertion (seen from the end of the sequences). */
static void fill_cell(struct table *table, size_t row, size_t column)
{
    bool same = table->input->ref[row - 1] == table->input->hyp[column - 1];
    struct cell best = table->above[column - 1];
    enum step step = STEP_PAIR;
    best.cost += same ? 0 : table->costs->substitution;
    if (same && table->input->gain != NULL) {
        best.gain += table->input->gain[(row - 1) * table->input->n_hyp + column - 1];
    }
    struct cell other = table->above[column];
    other.cost += table->costs->deletion;
    if (better(&other, &best)) {
        best = other;
        step = STEP_DELETION;
    }
    other = table->here[column - 1];
    other.cost += table->costs->insertion;
    if (better(&other, &best)) {
        best = other;
        step = STEP_INSERTION;
    }
    table->here[column] = best;
    set_step(table, row, column, step);
}

/* Fills the table row by row and returns the cost of the whole. */
static double fill(struct table *table)
{
    table->here[0] = (struct cell){0};
    for (size_t column = 1; column <= table->input->n_hyp; column++) {
        table->here[column] = table->here[column - 1];
        table->here[column].cost += table->costs->insertion;
        set_step(table, 0, column, STEP_INSERTION);
    }
    for (size_t row = 1; row <= table->input->n_ref; row++) {
        struct cell *swap = table->above;
        table->above = table->here;
        table->here = swap;
        table->here[0] = table->above[0];
        table->here[0].cost += table->costs->deletion;
        set_step(table, row, 0, STEP_DELETION);
        for (size_t column = 1; column <= table->input->n_hyp; column++) {
            fill_cell(table, row, column);
        }
    }
    return table->here[table->input->n_hyp].cost;
}

static void add_pair(const struct table *table, struct sl_alignment *to, size_t ref, size_t hyp)
{
    to->pairs[to->n_pairs++] = (struct sl_align_pair){.ref = ref, .hyp = hyp};
    if (hyp == SL_ALIGN_NONE) {
        to->deletions++;
    } else if (ref == SL_ALIGN_NONE) {
        to->insertions++;
    } else if (table->input->ref[ref] == table->input->hyp[hyp]) {
        to->correct++;
    } else {
        to->substitutions++;
    }
}

/* Follows the steps from the end to the start, then turns the pairs round. */
static void trace(const struct table *table, struct sl_alignment *to)
{
    size_t row = table->input->n_ref;
    size_t column = table->input->n_hyp;
    while (row > 0 || column > 0) {
        enum step step = get_step(table, row, column);
        row -= step != STEP_INSERTION;
        column -= step != STEP_DELETION;
        add_pair(table, to, step == STEP_INSERTION ? SL_ALIGN_NONE : row,
                 step == STEP_DELETION ? SL_ALIGN_NONE : column);
    }
    for (size_t i = 0; i < to->n_pairs / 2; i++) {
        struct sl_align_pair swap = to->pairs[i];
        to->pairs[i] = to->pairs[to->n_pairs - 1 - i];
        to->pairs[to->n_pairs - 1 - i] = swap;
    }
}

enum sl_status sl_align(const struct sl_align_input *input, const struct sl_align_costs *costs,
                        struct sl_alignment *alignment, struct sl_error *error)
{
    if (input->n_ref > ALIGN_TOKENS_MAX || input->n_hyp > ALIGN_TOKENS_MAX) {
        return sl_fail(error, SL_TOO_LARGE, NULL, "align shorter sequences",
                       "%zu against %zu tokens, the most is %d a side", input->n_ref, input->n_hyp,
                       ALIGN_TOKENS_MAX);
    }
    struct table table = {.input = input, .costs = costs};
    const size_t columns = input->n_hyp + 1;
    struct sl_alignment made = {0};
    enum sl_status status = SL_OK;
    table.steps = calloc((input->n_ref + 1) * columns / 4 + 1, 1);
    table.above = calloc(columns, sizeof *table.above);
    table.here = calloc(columns, sizeof *table.here);
    made.pairs = calloc(input->n_ref + columns, sizeof *made.pairs);
    if (table.steps == NULL || table.above == NULL || table.here == NULL || made.pairs == NULL) {
        status = sl_fail_memory(error);
        goto out;
    }
    made.cost = fill(&table);
    trace(&table, &made);
    sl_alignment_clear(alignment);
    *alignment = made;
    made = (struct sl_alignment){0};
out:
    free(table.steps);
    free(table.above);
    free(table.here);
    sl_alignment_clear(&made);
    return status;
}

void sl_alignment_clear(struct sl_alignment *alignment)
{
    if (alignment == NULL) {
        return;
    }
    free(alignment->pairs);
    *alignment = (struct sl_alignment){0};
}
