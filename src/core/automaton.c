#include "core/automaton.h"

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

#define MOST 10000 /* states, steps */

/* Where the same words lead in the graph: one state of the automaton. */
struct set {
    size_t *states; /* rising; owned */
    size_t count;
    size_t becomes;
};

/* Growing steps. Where they begin may not be known yet: 0. */
struct steps {
    struct sl_automaton_step *items;
    size_t count, room;
};

struct making {
    const struct sl_graph *graph;
    struct steps made; /* of a state side by side, the states rising, the hub at the end */
    size_t n_states;
    struct set *sets; /* of which is known what they become */
    size_t n_sets, sets_room;
    bool *reached; /* by state of the graph; all false between uses */
    bool no_memory, too_large;
};

static bool failed(const struct making *making)
{
    return making->no_memory || making->too_large;
}

static void add_step(struct making *making, struct steps *steps, struct sl_automaton_step step)
{
    struct sl_automaton_step *items =
        sl_grow(steps->items, steps->count, &steps->room, sizeof *items);
    if (items == NULL) {
        making->no_memory = true;
        return;
    }
    steps->items = items;
    items[steps->count++] = step;
}

/* Marks a state and what empty arcs lead to from it; behind the hub another phrase begins. */
static void reach(struct making *making, size_t state)
{
    const struct sl_graph *graph = making->graph;
    if (making->reached[state]) {
        return;
    }
    making->reached[state] = true;
    for (size_t i = sl_graph_first(graph, state);
         state != 0 && i < graph->n_arcs && graph->arcs[i].from == state; i++) {
        if (graph->arcs[i].word == NULL) {
            reach(making, graph->arcs[i].to);
        }
    }
}

/* The states that are marked; no mark stays. The caller frees the states. */
static struct set take_reached(struct making *making)
{
    size_t n_states = making->graph->n_states;
    size_t n = 0;
    for (size_t state = 0; state < n_states; state++) {
        n += making->reached[state] ? 1 : 0;
    }
    struct set set = {.states = calloc(n + 1, sizeof *set.states)};
    making->no_memory = making->no_memory || set.states == NULL;
    for (size_t state = 0; set.states != NULL && set.count < n; state++) {
        if (making->reached[state]) {
            set.states[set.count++] = state;
        }
    }
    memset(making->reached, 0, n_states * sizeof *making->reached);
    return set;
}

static int by_word(const void *a, const void *b)
{
    const struct sl_automaton_step *one = a;
    const struct sl_automaton_step *other = b;
    if (one->word != other->word) {
        return one->word < other->word ? -1 : 1;
    }
    return (one->to > other->to) - (one->to < other->to);
}

/* Adds every arc with a word out of a state. */
static void gather_arcs(struct making *making, size_t state, struct steps *arcs)
{
    const struct sl_graph *graph = making->graph;
    for (size_t i = sl_graph_first(graph, state); i < graph->n_arcs && graph->arcs[i].from == state;
         i++) {
        if (graph->arcs[i].word != NULL) {
            add_step(making, arcs,
                     (struct sl_automaton_step){.to = graph->arcs[i].to,
                                                .word = sl_graph_word(graph, i)});
        }
    }
}

static size_t become(struct making *making, struct set *set);

/* The automaton's ways on from where arcs begin, one for each word. */
static void find_ways(struct making *making, struct steps *arcs, struct steps *ways)
{
    if (arcs->count > 0) {
        qsort(arcs->items, arcs->count, sizeof *arcs->items, by_word);
    }
    for (size_t i = 0; i < arcs->count && !failed(making);) {
        size_t word = arcs->items[i].word;
        for (; i < arcs->count && arcs->items[i].word == word; i++) {
            reach(making, arcs->items[i].to);
        }
        struct set set = take_reached(making);
        if (!failed(making)) {
            add_step(making, ways,
                     (struct sl_automaton_step){.to = become(making, &set), .word = word});
        }
        free(set.states);
    }
}

/* Whether a state's steps, from `at` on, are these ways; *end is where they end. */
static bool same_ways(const struct steps *made, size_t at, const struct steps *ways, size_t *end)
{
    bool same = true;
    size_t i = at;
    for (; i < made->count && made->items[i].from == made->items[at].from; i++) {
        size_t n = i - at;
        same = same && n < ways->count && made->items[i].word == ways->items[n].word &&
               made->items[i].to == ways->items[n].to;
    }
    *end = i;
    return same && i - at == ways->count;
}

static void add_steps(struct making *making, size_t from, const struct steps *ways)
{
    for (size_t i = 0; i < ways->count; i++) {
        struct sl_automaton_step step = ways->items[i];
        step.from = from;
        add_step(making, &making->made, step);
    }
    making->too_large = making->too_large || making->made.count > MOST;
}

/* The state with these ways on, a new one if there is none. */
static size_t state_with(struct making *making, const struct steps *ways)
{
    const struct steps *made = &making->made;
    size_t end = 0;
    for (size_t at = 0; at < made->count; at = end) {
        if (same_ways(made, at, ways, &end)) {
            return made->items[at].from;
        }
    }
    add_steps(making, making->n_states, ways);
    return making->n_states++;
}

/* Keeps what a set becomes; the set is taken over. */
static void keep(struct making *making, struct set *set, size_t becomes)
{
    struct set *sets =
        sl_grow(making->sets, making->n_sets, &making->sets_room, sizeof *making->sets);
    if (sets == NULL) {
        making->no_memory = true;
        return;
    }
    making->sets = sets;
    sets[making->n_sets++] = (struct set){set->states, set->count, becomes};
    *set = (struct set){0};
    making->too_large = making->too_large || making->n_sets > MOST;
}

/* What states of the graph become, that the same words lead to; they may be taken over. */
static size_t become(struct making *making, struct set *set)
{
    for (size_t i = 0; i < making->n_sets; i++) {
        const struct set *known = &making->sets[i];
        if (known->count == set->count &&
            memcmp(known->states, set->states, set->count * sizeof *set->states) == 0) {
            return known->becomes;
        }
    }
    struct steps arcs = {0};
    struct steps ways = {0};
    size_t becomes = 0;
    for (size_t i = 0; i < set->count; i++) {
        if (set->states[i] == 0) {
            add_step(making, &ways, (struct sl_automaton_step){.word = SL_AUTOMATON_END});
        } else {
            gather_arcs(making, set->states[i], &arcs);
        }
    }
    find_ways(making, &arcs, &ways);
    if (!failed(making)) {
        becomes = state_with(making, &ways);
        keep(making, set, becomes);
    }
    free(arcs.items);
    free(ways.items);
    return becomes;
}

static void make(struct making *making)
{
    struct steps arcs = {0};
    struct steps ways = {0};
    gather_arcs(making, 0, &arcs);
    find_ways(making, &arcs, &ways);
    if (!failed(making)) {
        add_steps(making, 0, &ways);
    }
    free(arcs.items);
    free(ways.items);
}

enum sl_status sl_automaton_make(const struct sl_graph *graph, struct sl_automaton *automaton,
                                 struct sl_error *error)
{
    struct making making = {.graph = graph,
                            .n_states = 1,
                            .reached = calloc(graph->n_states + 1, sizeof *making.reached)};
    making.no_memory = making.reached == NULL;
    if (!failed(&making)) {
        make(&making);
    }
    for (size_t i = 0; i < making.n_sets; i++) {
        free(making.sets[i].states);
    }
    free(making.sets);
    free(making.reached);
    if (failed(&making)) {
        free(making.made.items);
        return making.no_memory ? sl_fail_memory(error)
                                : sl_fail(error, SL_TOO_LARGE, NULL,
                                          "write patterns with fewer optional words that are alike",
                                          "the phrases make a grammar of more than %d steps", MOST);
    }
    sl_automaton_clear(automaton);
    *automaton = (struct sl_automaton){making.n_states, making.made.items, making.made.count};
    return SL_OK;
}

void sl_automaton_clear(struct sl_automaton *automaton)
{
    if (automaton == NULL) {
        return;
    }
    free(automaton->steps);
    *automaton = (struct sl_automaton){0};
}

/* A walk along the words of a phrase. */
struct walk {
    const struct sl_graph *graph;
    const size_t *words;
    size_t n_words;
    bool whole;
    size_t *arcs;
    bool *vain; /* by words said and state: no way on from there */
};

static bool go_on(const struct walk *walk, size_t state, size_t n_said)
{
    const struct sl_graph *graph = walk->graph;
    bool *vain = &walk->vain[n_said * graph->n_states + state];
    if (n_said == walk->n_words && !walk->whole) {
        return true;
    }
    for (size_t i = sl_graph_first(graph, state);
         !*vain && i < graph->n_arcs && graph->arcs[i].from == state; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        bool says = arc->word != NULL;
        if (says && (n_said == walk->n_words ||
                     arc->word != graph->words[walk->words[n_said]])) { /* shared copies */
            continue;
        }
        size_t said = n_said + (says ? 1 : 0);
        if (arc->to == 0 ? said == walk->n_words : go_on(walk, arc->to, said)) {
            if (says) {
                walk->arcs[n_said] = i;
            }
            return true;
        }
    }
    *vain = true;
    return false;
}

bool sl_graph_trace(const struct sl_graph *graph, const size_t *words, size_t n_words, bool whole,
                    size_t *arcs)
{
    bool *vain = calloc((n_words + 1) * graph->n_states, sizeof *vain);
    const struct walk walk = {graph, words, n_words, whole, arcs, vain};
    bool found = vain != NULL && n_words > 0 && go_on(&walk, 0, 0);
    free(vain);
    return found;
}
