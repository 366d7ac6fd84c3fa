/*
 * Builds the phrasebook's word graph, phrase by phrase. Used inside the core only.
 */
#ifndef SL_CORE_WORD_GRAPH_H
#define SL_CORE_WORD_GRAPH_H

#include "core/pattern.h"
#include "core/phrasebook.h"

#include <stdbool.h>

/* More arcs than this and the book is refused: a generous one has about a tenth of them. */
#define SL_GRAPH_ARCS_MAX 10000

/* Initialise with {.n_states = 1}: the hub. Release with sl_graph_builder_clear. */
struct sl_graph_builder {
    struct sl_arc *arcs;
    size_t n_arcs, arcs_room;
    size_t n_states;
    char **words; /* distinct, sorted */
    size_t n_words, words_room;
    bool no_memory; /* what was added last is not whole */
    bool too_large;
};

/* Adds a phrase's paths from the hub to the hub. All slots of the pattern exist in the book. Sets
 * no_memory or too_large when it cannot. */
void sl_graph_add_phrase(struct sl_graph_builder *builder, const struct sl_phrasebook *book,
                         size_t phrase, const struct sl_pattern *pattern);

/* Makes the arcs from `first` on, those of one phrase, fewer without changing what can be said: no
 * empty arc out of the hub, beginnings and endings shared. Called by sl_graph_add_phrase. */
void sl_graph_tidy(struct sl_graph_builder *builder, size_t first);

/* Adds an arc, or sets no_memory or too_large; removes one. */
void sl_graph_add_arc(struct sl_graph_builder *builder, const struct sl_arc *arc);
void sl_graph_remove_arc(struct sl_graph_builder *builder, size_t index);

/* Makes arcs from `first` on lead to `into` instead of `state`. */
void sl_graph_redirect(struct sl_graph_builder *builder, size_t first, size_t state, size_t into);

/* Numbers the states anew without gaps, sorts the arcs by `from` and hands over the graph; the
 * builder is empty afterwards. False when memory ran out (then the builder is as it was). */
bool sl_graph_finish(struct sl_graph_builder *builder, struct sl_graph *graph);

void sl_graph_builder_clear(struct sl_graph_builder *builder);

#endif
