#include "speech/twins.h"

#include "core/str.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define STEPS_MOST 64 /* empty arcs and words in a row; no phrase comes near */

/* A walk through the graph along the phrase's words, but for one. */
struct walk {
    const struct sl_paths *paths;
    const struct sl_span *span;
    struct sl_twins *twins;
    struct sl_twin other; /* the word put in; arc SL_GRAMMAR_NONE: none so far */
    size_t n_steps;
    bool no_memory;
};

static const char *word_of(const struct walk *walk, size_t word)
{
    return walk->paths->arcs[walk->twins->arcs[word]].word;
}

static void add(struct walk *walk)
{
    struct sl_twins *twins = walk->twins;
    for (size_t i = 0; i < twins->count; i++) {
        const struct sl_twin *known = &twins->items[i];
        if (known->word == walk->other.word &&
            strcmp(walk->paths->arcs[known->arc].word, walk->paths->arcs[walk->other.arc].word) ==
                0) {
            return;
        }
    }
    struct sl_twin *items = sl_grow(twins->items, twins->count, &twins->room, sizeof(*items));
    if (items == NULL) {
        walk->no_memory = true;
        return;
    }
    twins->items = items;
    items[twins->count++] = walk->other;
}

/* From `state` on with the phrase's words from `word` on; `said` is what was named so far. */
static void go_on(struct walk *walk, size_t state, size_t word, const struct sl_settings *said)
{
    const struct sl_paths *paths = walk->paths;
    if (walk->no_memory || walk->n_steps == STEPS_MOST) {
        return;
    }
    walk->n_steps++;
    for (size_t i = sl_paths_first(paths, state); i < paths->n_arcs && paths->arcs[i].from == state;
         i++) {
        const struct sl_arc *arc = &paths->arcs[i];
        if (paths->phases[arc->phrase] != walk->span->phase) {
            continue;
        }
        struct sl_settings named = state == 0 ? paths->settings[arc->phrase] : *said;
        sl_settings_merge(&named, &arc->settings);
        size_t next = word + (arc->word != NULL ? 1 : 0);
        if (next > walk->twins->n_arcs) {
            continue;
        }
        bool same = arc->word == NULL || strcmp(arc->word, word_of(walk, word)) == 0;
        if (!same && walk->other.arc != SL_GRAMMAR_NONE) {
            continue;
        }
        struct sl_twin before = walk->other;
        walk->other = same ? before : (struct sl_twin){word, i};
        if (arc->to != 0) {
            go_on(walk, arc->to, next, &named);
        } else if (next == walk->twins->n_arcs && walk->other.arc != SL_GRAMMAR_NONE &&
                   !sl_settings_equal(&named, &walk->span->settings)) {
            add(walk);
        }
        walk->other = before;
    }
    walk->n_steps--;
}

enum sl_status sl_twins_find(const struct sl_paths *paths, const struct sl_span *span,
                             const struct sl_segments *segments, struct sl_twins *twins,
                             struct sl_error *error)
{
    twins->n_arcs = 0;
    twins->count = 0;
    for (size_t i = 0; i < span->n_segments; i++) {
        const struct sl_segment *segment = &segments->items[span->first_segment + i];
        if (segment->kind != SL_SEGMENT_WORD) {
            continue;
        }
        size_t *arcs = sl_grow(twins->arcs, twins->n_arcs, &twins->arcs_room, sizeof(*arcs));
        if (arcs == NULL) {
            return sl_fail_memory(error);
        }
        twins->arcs = arcs;
        arcs[twins->n_arcs++] = segment->arc;
    }
    struct walk walk = {
        .paths = paths, .span = span, .twins = twins, .other = {0, SL_GRAMMAR_NONE}};
    const struct sl_settings none = {0};
    go_on(&walk, 0, 0, &none);
    return walk.no_memory ? sl_fail_memory(error) : SL_OK;
}

void sl_twins_clear(struct sl_twins *twins)
{
    if (twins == NULL) {
        return;
    }
    free(twins->arcs);
    free(twins->items);
    *twins = (struct sl_twins){0};
}
