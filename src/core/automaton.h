/*
 * What a word graph lets be said, as the smallest deterministic automaton: from no state do two
 * steps of the same word lead on, and no two states have the same ways on. What many phrases begin
 * or end with is there once, so that a search has far less to follow; which phrase was said is
 * found afterwards from its words (sl_graph_trace).
 *
 * Source: determinisation by sets of states and minimisation, as in Hopcroft, Motwani and Ullman,
 * "Introduction to Automata Theory, Languages, and Computation", chapters 2 and 4 (from memory);
 * the graph has no loops but through the hub, so states are compared once what follows them is
 * known.
 */
#ifndef SL_CORE_AUTOMATON_H
#define SL_CORE_AUTOMATON_H

#include "core/phrasebook.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

#define SL_AUTOMATON_END ((size_t)-1)

/* A word that leads from state to state, or the end of a phrase, which leads into the hub, state 0.
 * No word does. */
struct sl_automaton_step {
    size_t from, to;
    size_t word; /* index into the graph's words; SL_AUTOMATON_END: none */
};

/* Initialise with {0}; release with sl_automaton_clear. */
struct sl_automaton {
    size_t n_states; /* the hub is the first */
    struct sl_automaton_step *steps;
    size_t n_steps;
};

/*
 * Makes the automaton of a graph; the same graph gives the same automaton. SL_TOO_LARGE when it
 * would have more than 10,000 states or steps, as patterns with many optional words that are alike
 * may. SL_NO_MEMORY. Replaces *automaton; on an error it stays.
 */
enum sl_status sl_automaton_make(const struct sl_graph *graph, struct sl_automaton *automaton,
                                 struct sl_error *error);

/* NULL is fine. */
void sl_automaton_clear(struct sl_automaton *automaton);

/*
 * Finds the arcs of the graph that say these words, indices into its own: arcs[i] is the one of
 * words[i]. The words are a phrase from the hub to the hub when `whole`, else the beginning of one.
 * Of several phrases that say the same, the first of the book. False when the graph has no such
 * way, or memory runs out.
 */
bool sl_graph_trace(const struct sl_graph *graph, const size_t *words, size_t n_words, bool whole,
                    size_t *arcs);

#endif
