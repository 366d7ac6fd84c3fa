/*
 * Makes the word graph small. The arcs of one phrase have no loop but through the hub, so two
 * states with the same way on can be one (endings), and so can two states that are reached by the
 * same word from the same state and from nowhere else (beginnings).
 */
#include "core/word_graph.h"

#include <stdlib.h>
#include <string.h>

static bool same_word(const struct sl_arc *a, const struct sl_arc *b)
{
    /* Words are shared copies, so the pointers tell. */
    return a->word == b->word && sl_settings_equal(&a->settings, &b->settings);
}

static size_t count_into(const struct sl_graph_builder *builder, size_t first, size_t state)
{
    size_t count = 0;
    for (size_t i = first; i < builder->n_arcs; i++) {
        count += builder->arcs[i].to == state ? 1 : 0;
    }
    return count;
}

/* Of arcs that say the same on the same way, the first stays. */
static void remove_repeats_of(struct sl_graph_builder *builder, size_t arc)
{
    size_t i = arc + 1;
    while (i < builder->n_arcs) {
        const struct sl_arc *a = &builder->arcs[arc];
        const struct sl_arc *b = &builder->arcs[i];
        if (a->from == b->from && a->to == b->to && same_word(a, b)) {
            sl_graph_remove_arc(builder, i);
        } else {
            i++;
        }
    }
}

static void remove_repeated(struct sl_graph_builder *builder, size_t first)
{
    for (size_t i = first; i < builder->n_arcs; i++) {
        remove_repeats_of(builder, i);
    }
}

/* Adds arcs from the hub as they leave `state`. */
static void copy_to_hub(struct sl_graph_builder *builder, size_t first, size_t state)
{
    size_t n_arcs = builder->n_arcs; /* those added start at the hub */
    for (size_t i = first; i < n_arcs; i++) {
        struct sl_arc arc = builder->arcs[i];
        if (arc.from == state) {
            arc.from = 0;
            sl_graph_add_arc(builder, &arc);
        }
    }
}

/* Replaces empty arcs out of the hub by what follows them, so that a phrase's first word is known
 * by the state it starts from. */
static void open_with_words(struct sl_graph_builder *builder, size_t first)
{
    size_t i = first;
    while (i < builder->n_arcs) {
        struct sl_arc opening = builder->arcs[i];
        if (opening.from == 0 && opening.word == NULL) {
            sl_graph_remove_arc(builder, i);
            copy_to_hub(builder, first, opening.to);
        } else {
            i++;
        }
    }
    /* No state is left without a way to it: the end of what is optional is also reached by its
     * words. */
    remove_repeated(builder, first);
}

/* True when two arcs start alike and lead to states that nothing else leads to. */
static bool begins_alike(const struct sl_graph_builder *builder, size_t first,
                         const struct sl_arc *a, const struct sl_arc *b)
{
    return a->from == b->from && a->to != 0 && b->to != 0 && same_word(a, b) &&
           count_into(builder, first, a->to) == 1 && count_into(builder, first, b->to) == 1;
}

/* Makes the arcs out of the state that arc `from` leads to start where arc `into` leads. */
static void move_starts(struct sl_graph_builder *builder, size_t first, const struct sl_arc *from,
                        const struct sl_arc *into)
{
    size_t state = from->to;
    size_t new_state = into->to;
    for (size_t i = first; i < builder->n_arcs; i++) {
        if (builder->arcs[i].from == state) {
            builder->arcs[i].from = new_state;
        }
    }
}

/* Joins the arcs behind `arc` that begin like it to it. */
static void share_beginning(struct sl_graph_builder *builder, size_t first, size_t arc)
{
    size_t i = arc + 1;
    while (i < builder->n_arcs) {
        if (begins_alike(builder, first, &builder->arcs[arc], &builder->arcs[i])) {
            move_starts(builder, first, &builder->arcs[i], &builder->arcs[arc]);
            sl_graph_remove_arc(builder, i);
        } else {
            i++;
        }
    }
}

static void share_beginnings(struct sl_graph_builder *builder, size_t first)
{
    for (size_t i = first; i < builder->n_arcs; i++) {
        share_beginning(builder, first, i);
    }
}

/* Sorts the arcs from `first` on by their `from`; equal ones keep their order. */
static void sort_by_from(struct sl_graph_builder *builder, size_t first)
{
    size_t n_arcs = builder->n_arcs - first;
    struct sl_arc *unsorted = malloc((n_arcs + 1) * sizeof *unsorted);
    size_t *place = calloc(builder->n_states + 1, sizeof *place);
    if (unsorted == NULL || place == NULL) {
        builder->no_memory = true;
        goto out;
    }
    for (size_t i = 0; i < n_arcs; i++) {
        unsorted[i] = builder->arcs[first + i];
        place[unsorted[i].from + 1]++;
    }
    for (size_t state = 0; state < builder->n_states; state++) {
        place[state + 1] += place[state];
    }
    for (size_t i = 0; i < n_arcs; i++) {
        builder->arcs[first + place[unsorted[i].from]++] = unsorted[i];
    }
out:
    free(unsorted);
    free(place);
}

/* One past the last arc of the state that arc i starts from; the arcs are sorted. */
static size_t block_end(const struct sl_graph_builder *builder, size_t i)
{
    size_t from = builder->arcs[i].from;
    while (i < builder->n_arcs && builder->arcs[i].from == from) {
        i++;
    }
    return i;
}

/* True when the states whose arcs begin at a and b have the same way on. */
static bool ends_alike(const struct sl_graph_builder *builder, size_t a, size_t b)
{
    size_t length = block_end(builder, a) - a;
    if (block_end(builder, b) - b != length) {
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        const struct sl_arc *one = &builder->arcs[a + i];
        const struct sl_arc *other = &builder->arcs[b + i];
        if (one->to != other->to || !same_word(one, other)) {
            return false;
        }
    }
    return true;
}

/* Removes the state whose arcs begin at b: what leads to it leads to the one at a. */
static void merge_states(struct sl_graph_builder *builder, size_t first, size_t a, size_t b)
{
    size_t into = builder->arcs[a].from;
    size_t state = builder->arcs[b].from;
    while (b < builder->n_arcs && builder->arcs[b].from == state) {
        sl_graph_remove_arc(builder, b);
    }
    sl_graph_redirect(builder, first, state, into);
}

/* Joins the states behind the one whose arcs begin at `a` that end like it to it. */
static bool share_ending(struct sl_graph_builder *builder, size_t first, size_t a)
{
    bool changed = false;
    size_t b = block_end(builder, a);
    while (b < builder->n_arcs) {
        if (ends_alike(builder, a, b)) {
            merge_states(builder, first, a, b);
            changed = true;
        } else {
            b = block_end(builder, b);
        }
    }
    return changed;
}

/* One pass over all pairs of states but the hub; true when some were made one. */
static bool share_endings(struct sl_graph_builder *builder, size_t first)
{
    bool changed = false;
    for (size_t a = first; a < builder->n_arcs; a = block_end(builder, a)) {
        bool shared = builder->arcs[a].from != 0 && share_ending(builder, first, a);
        changed = changed || shared;
    }
    return changed;
}

void sl_graph_tidy(struct sl_graph_builder *builder, size_t first)
{
    open_with_words(builder, first);
    share_beginnings(builder, first);
    sort_by_from(builder, first);
    if (builder->no_memory || builder->too_large) {
        return;
    }
    do {
        remove_repeated(builder, first);
    } while (share_endings(builder, first));
}

bool sl_graph_finish(struct sl_graph_builder *builder, struct sl_graph *graph)
{
    sort_by_from(builder, 0);
    size_t *number = calloc(builder->n_states, sizeof *number);
    if (builder->no_memory || number == NULL) {
        free(number);
        return false;
    }
    size_t n_states = 1; /* the hub keeps 0 */
    for (size_t i = 0; i < builder->n_arcs; i++) {
        size_t from = builder->arcs[i].from;
        if (from != 0 && number[from] == 0) {
            number[from] = n_states++;
        }
    }
    for (size_t i = 0; i < builder->n_arcs; i++) {
        builder->arcs[i].from = number[builder->arcs[i].from];
        builder->arcs[i].to = number[builder->arcs[i].to];
    }
    free(number);
    *graph = (struct sl_graph){.n_states = n_states,
                               .arcs = builder->arcs,
                               .n_arcs = builder->n_arcs,
                               .words = builder->words,
                               .n_words = builder->n_words};
    *builder = (struct sl_graph_builder){.n_states = 1};
    return true;
}
