#include "speech/twins.h"

#include "core/str.h"

#include <stdbool.h>
#include <stdlib.h>

#define STEPS_MOST 64 /* empty arcs and words in a row; no phrase comes near */

/* A walk through the graph along the phrase's words, but for one. */
struct walk {
    const struct sl_paths *paths;
    const struct sl_span *span;
    struct sl_twins *twins;
    struct sl_twin twin; /* the word put in; other SL_GRAMMAR_NONE: none so far */
    size_t n_steps;
    bool no_memory;
};

static void add(struct walk *walk)
{
    struct sl_twins *twins = walk->twins;
    for (size_t i = 0; i < twins->count; i++) {
        const struct sl_twin *known = &twins->items[i];
        if (known->place == walk->twin.place && known->other == walk->twin.other) {
            return;
        }
    }
    struct sl_twin *items = sl_grow(twins->items, twins->count, &twins->room, sizeof(*items));
    if (items == NULL) {
        walk->no_memory = true;
        return;
    }
    twins->items = items;
    items[twins->count++] = walk->twin;
}

/* From `state` on with the phrase's words from `place` on; `said` is what was named so far. */
static void go_on(struct walk *walk, size_t state, size_t place, const struct sl_settings *said)
{
    const struct sl_paths *paths = walk->paths;
    const struct sl_graph *graph = &paths->graph;
    const struct sl_twins *twins = walk->twins;
    if (walk->no_memory || walk->n_steps == STEPS_MOST) {
        return;
    }
    walk->n_steps++;
    for (size_t i = sl_graph_first(graph, state); i < graph->n_arcs && graph->arcs[i].from == state;
         i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        size_t next = place + (arc->word != NULL ? 1 : 0);
        if (paths->phases[arc->phrase] != walk->span->phase || next > twins->n_words) {
            continue;
        }
        struct sl_settings named = state == 0 ? paths->settings[arc->phrase] : *said;
        sl_settings_merge(&named, &arc->settings);
        size_t word = arc->word != NULL ? sl_graph_word(graph, i) : SL_GRAMMAR_NONE;
        bool same = arc->word == NULL || word == twins->words[place];
        if (!same && walk->twin.other != SL_GRAMMAR_NONE) {
            continue;
        }
        struct sl_twin before = walk->twin;
        walk->twin = same ? before : (struct sl_twin){place, word};
        if (arc->to != 0) {
            go_on(walk, arc->to, next, &named);
        } else if (next == twins->n_words && walk->twin.other != SL_GRAMMAR_NONE &&
                   !sl_settings_equal(&named, &walk->span->settings)) {
            add(walk);
        }
        walk->twin = before;
    }
    walk->n_steps--;
}

enum sl_status sl_twins_find(const struct sl_paths *paths, const struct sl_span *span,
                             const struct sl_segments *segments, struct sl_twins *twins,
                             struct sl_error *error)
{
    twins->n_words = 0;
    twins->count = 0;
    for (size_t i = 0; i < span->n_segments; i++) {
        const struct sl_segment *segment = &segments->items[span->first_segment + i];
        if (segment->kind != SL_SEGMENT_WORD) {
            continue;
        }
        size_t *words = sl_grow(twins->words, twins->n_words, &twins->words_room, sizeof(*words));
        if (words == NULL) {
            return sl_fail_memory(error);
        }
        twins->words = words;
        words[twins->n_words++] = segment->word;
    }
    struct walk walk = {.paths = paths, .span = span, .twins = twins, .twin = {0, SL_GRAMMAR_NONE}};
    const struct sl_settings none = {0};
    go_on(&walk, 0, 0, &none);
    return walk.no_memory ? sl_fail_memory(error) : SL_OK;
}

void sl_twins_clear(struct sl_twins *twins)
{
    if (twins == NULL) {
        return;
    }
    free(twins->words);
    free(twins->items);
    *twins = (struct sl_twins){0};
}
