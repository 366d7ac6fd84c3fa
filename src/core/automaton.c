#include "core/automaton.h"

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

#define MOST 10000 /* states, steps */

/* Growing numbers. */
struct list {
    size_t *items;
    size_t count, room;
};

/* Where the same words lead in the graph: one state of the automaton. */
struct set {
    struct list states; /* rising */
    size_t becomes;
};

/* A step whose beginning is not known yet. */
struct way {
    size_t word, to;
};

struct ways {
    struct way *items;
    size_t count, room;
};

struct making {
    const struct sl_graph *graph;
    struct sl_automaton made;
    struct list first; /* step of each state but the hub */
    struct set *sets;  /* of which is known what they become */
    size_t n_sets, sets_room;
    bool *reached; /* by state of the graph; all false between uses */
    bool no_memory, too_large;
};

static bool failed(const struct making *making)
{
    return making->no_memory || making->too_large;
}

static void append(struct making *making, struct list *list, size_t item)
{
    size_t *items = sl_grow(list->items, list->count, &list->room, sizeof *items);
    if (items == NULL) {
        making->no_memory = true;
        return;
    }
    list->items = items;
    items[list->count++] = item;
}

static void add_way(struct making *making, struct ways *ways, size_t word, size_t to)
{
    struct way *items = sl_grow(ways->items, ways->count, &ways->room, sizeof *items);
    if (items == NULL) {
        making->no_memory = true;
        return;
    }
    ways->items = items;
    items[ways->count++] = (struct way){word, to};
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

/* The states that are marked; no mark stays. */
static void take_reached(struct making *making, struct list *states)
{
    for (size_t state = 0; state < making->graph->n_states; state++) {
        if (making->reached[state]) {
            append(making, states, state);
        }
    }
    memset(making->reached, 0, making->graph->n_states * sizeof *making->reached);
}

static int by_word(const void *a, const void *b)
{
    const struct way *one = a;
    const struct way *other = b;
    if (one->word != other->word) {
        return one->word < other->word ? -1 : 1;
    }
    return (one->to > other->to) - (one->to < other->to);
}

/* Adds every arc with a word out of a state. */
static void gather_arcs(struct making *making, size_t state, struct ways *arcs)
{
    const struct sl_graph *graph = making->graph;
    for (size_t i = sl_graph_first(graph, state); i < graph->n_arcs && graph->arcs[i].from == state;
         i++) {
        if (graph->arcs[i].word != NULL) {
            add_way(making, arcs, sl_graph_word(graph, i), graph->arcs[i].to);
        }
    }
}

static size_t become(struct making *making, struct list *states);

/* The automaton's ways on from where arcs begin, one for each word. */
static void find_ways(struct making *making, struct ways *arcs, struct ways *ways)
{
    if (arcs->count > 0) {
        qsort(arcs->items, arcs->count, sizeof *arcs->items, by_word);
    }
    for (size_t i = 0; i < arcs->count && !failed(making);) {
        size_t word = arcs->items[i].word;
        for (; i < arcs->count && arcs->items[i].word == word; i++) {
            reach(making, arcs->items[i].to);
        }
        struct list states = {0};
        take_reached(making, &states);
        if (!failed(making)) {
            add_way(making, ways, word, become(making, &states));
        }
        free(states.items);
    }
}

static bool same_ways(const struct making *making, size_t state, const struct ways *ways)
{
    const struct list *first = &making->first;
    size_t from = first->items[state - 1];
    size_t end = state < first->count ? first->items[state] : making->made.n_steps;
    bool same = end - from == ways->count;
    for (size_t i = 0; i < ways->count && same; i++) {
        const struct sl_automaton_step *step = &making->made.steps[from + i];
        same = step->word == ways->items[i].word && step->to == ways->items[i].to;
    }
    return same;
}

static void add_steps(struct making *making, size_t from, const struct ways *ways)
{
    struct sl_automaton *made = &making->made;
    for (size_t i = 0; i < ways->count; i++) {
        struct sl_automaton_step *steps =
            sl_grow(made->steps, made->n_steps, &made->room, sizeof *steps);
        if (steps == NULL) {
            making->no_memory = true;
            return;
        }
        made->steps = steps;
        steps[made->n_steps++] =
            (struct sl_automaton_step){from, ways->items[i].to, ways->items[i].word};
    }
    making->too_large = making->too_large || made->n_steps > MOST;
}

/* The state with these ways on, a new one if there is none. */
static size_t state_with(struct making *making, const struct ways *ways)
{
    struct sl_automaton *made = &making->made;
    for (size_t state = 1; state < made->n_states; state++) {
        if (same_ways(making, state, ways)) {
            return state;
        }
    }
    append(making, &making->first, made->n_steps);
    add_steps(making, made->n_states, ways);
    return made->n_states++;
}

/* Keeps what a set becomes; the set is taken over. */
static void keep(struct making *making, struct list *states, size_t becomes)
{
    struct set *sets =
        sl_grow(making->sets, making->n_sets, &making->sets_room, sizeof *making->sets);
    if (sets == NULL) {
        making->no_memory = true;
        return;
    }
    making->sets = sets;
    sets[making->n_sets++] = (struct set){*states, becomes};
    *states = (struct list){0};
    making->too_large = making->too_large || making->n_sets > MOST;
}

/* What states of the graph become, that the same words lead to; they may be taken over. */
static size_t become(struct making *making, struct list *states)
{
    for (size_t i = 0; i < making->n_sets; i++) {
        const struct list *known = &making->sets[i].states;
        if (known->count == states->count &&
            memcmp(known->items, states->items, states->count * sizeof *states->items) == 0) {
            return making->sets[i].becomes;
        }
    }
    struct ways arcs = {0};
    struct ways ways = {0};
    size_t becomes = 0;
    for (size_t i = 0; i < states->count; i++) {
        if (states->items[i] == 0) {
            add_way(making, &ways, SL_AUTOMATON_END, 0);
        } else {
            gather_arcs(making, states->items[i], &arcs);
        }
    }
    find_ways(making, &arcs, &ways);
    if (!failed(making)) {
        becomes = state_with(making, &ways);
        keep(making, states, becomes);
    }
    free(arcs.items);
    free(ways.items);
    return becomes;
}

static void make(struct making *making)
{
    struct ways arcs = {0};
    struct ways ways = {0};
    making->made.n_states = 1;
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
                            .reached = calloc(graph->n_states + 1, sizeof *making.reached)};
    making.no_memory = making.reached == NULL;
    if (!failed(&making)) {
        make(&making);
    }
    for (size_t i = 0; i < making.n_sets; i++) {
        free(making.sets[i].states.items);
    }
    free(making.sets);
    free(making.first.items);
    free(making.reached);
    if (failed(&making)) {
        sl_automaton_clear(&making.made);
        return making.no_memory ? sl_fail_memory(error)
                                : sl_fail(error, SL_TOO_LARGE, NULL,
                                          "write patterns with fewer optional words that are alike",
                                          "the phrases make a grammar of more than %d steps", MOST);
    }
    sl_automaton_clear(automaton);
    *automaton = making.made;
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
