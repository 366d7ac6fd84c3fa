#include "core/phone_search.h"

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

static bool before(const struct sl_phone_search *search, uint32_t a, uint32_t b)
{
    const struct sl_phone_node *x = &search->nodes[a];
    const struct sl_phone_node *y = &search->nodes[b];
    if (x->cost != y->cost) {
        return x->cost < y->cost;
    }
    return x->length != y->length ? x->length < y->length : a < b;
}

static void heap_push(struct sl_phone_search *search, uint32_t node)
{
    uint32_t *heap = sl_grow(search->heap, search->n_heap, &search->heap_room, sizeof *heap);
    if (heap == NULL) {
        search->no_memory = true;
        return;
    }
    search->heap = heap;
    size_t at = search->n_heap++;
    while (at > 0 && before(search, node, heap[(at - 1) / 2])) {
        heap[at] = heap[(at - 1) / 2];
        at = (at - 1) / 2;
    }
    heap[at] = node;
}

static uint32_t heap_pop(struct sl_phone_search *search)
{
    uint32_t *heap = search->heap;
    uint32_t top = heap[0];
    uint32_t last = heap[--search->n_heap];
    size_t at = 0;
    for (;;) {
        size_t child = 2 * at + 1;
        if (child + 1 < search->n_heap && before(search, heap[child + 1], heap[child])) {
            child++;
        }
        if (child >= search->n_heap || !before(search, heap[child], last)) {
            break;
        }
        heap[at] = heap[child];
        at = child;
    }
    heap[at] = last;
    return top;
}

static size_t hash_of(const struct sl_phone_search *search, const struct sl_phone_node *node)
{
    uint64_t hash = 14695981039346656037U; /* FNV-1a over the four numbers */
    const uint32_t keys[] = {node->at[0], node->at[1], node->meaning[0], node->meaning[1]};
    for (size_t i = 0; i < 4; i++) {
        hash = (hash ^ keys[i]) * 1099511628211U;
    }
    return (size_t)((hash ^ hash >> 32) % search->table_size);
}

static bool same_place(const struct sl_phone_node *a, const struct sl_phone_node *b)
{
    return memcmp(a->at, b->at, sizeof a->at) == 0 &&
           memcmp(a->meaning, b->meaning, sizeof a->meaning) == 0;
}

/* Where a node stands in the table, or would. */
static uint32_t *look_up(struct sl_phone_search *search, const struct sl_phone_node *node)
{
    size_t at = hash_of(search, node);
    while (search->table[at] != SL_NODE_NONE &&
           !same_place(&search->nodes[search->table[at]], node)) {
        at = at + 1 == search->table_size ? 0 : at + 1;
    }
    return &search->table[at];
}

static bool grow_table(struct sl_phone_search *search)
{
    if (search->n_nodes * 2 < search->table_size) {
        return true;
    }
    size_t size = search->table_size == 0 ? 1024 : search->table_size * 4;
    uint32_t *table = malloc(size * sizeof *table);
    if (table == NULL) {
        return false;
    }
    memset(table, 0xff, size * sizeof *table);
    free(search->table);
    search->table = table;
    search->table_size = size;
    for (size_t i = 0; i < search->n_nodes; i++) {
        *look_up(search, &search->nodes[i]) = (uint32_t)i; /* a later one overtook the earlier */
    }
    return true;
}

/* Takes a way to a pair of places, unless a better one is known. */
static void reach(struct sl_phone_search *search, const struct sl_phone_node *way)
{
    if (way->cost >= search->limit || search->no_memory) {
        return;
    }
    /* Two ways of saying the same so far, and not in the same words: whatever follows is said
     * nearer by those who said it alike. */
    if (search->books[0] == search->books[1] && way->cost > 0 && way->at[0] == way->at[1] &&
        way->meaning[0] == way->meaning[1]) {
        return;
    }
    if (!grow_table(search) || search->n_nodes >= SL_PHONE_NODES_MAX) {
        search->no_memory = true;
        return;
    }
    uint32_t *place = look_up(search, way);
    if (*place != SL_NODE_NONE) {
        const struct sl_phone_node *known = &search->nodes[*place];
        if (known->cost < way->cost || (known->cost == way->cost && known->length <= way->length)) {
            return;
        }
    }
    struct sl_phone_node *nodes =
        sl_grow(search->nodes, search->n_nodes, &search->nodes_room, sizeof *nodes);
    if (nodes == NULL) {
        search->no_memory = true;
        return;
    }
    if (*place != SL_NODE_NONE) {
        nodes[*place].done = true; /* overtaken */
    }
    search->nodes = nodes;
    nodes[search->n_nodes] = *way;
    *place = (uint32_t)search->n_nodes++;
    heap_push(search, *place);
}

/* The number of a meaning. */
static uint32_t number_of(struct sl_phone_search *search, const struct sl_meaning *meaning)
{
    for (size_t i = 0; i < search->n_meanings; i++) {
        if (search->meanings[i].phase == meaning->phase &&
            sl_settings_equal(&search->meanings[i].settings, &meaning->settings)) {
            return (uint32_t)i;
        }
    }
    struct sl_meaning *meanings =
        sl_grow(search->meanings, search->n_meanings, &search->meanings_room, sizeof *meanings);
    if (meanings == NULL) {
        search->no_memory = true;
        return 0;
    }
    search->meanings = meanings;
    meanings[search->n_meanings] = *meaning;
    return (uint32_t)search->n_meanings++;
}

/* What a way means once it has taken an edge. */
static uint32_t meaning_after(struct sl_phone_search *search, int side, uint32_t meaning,
                              const struct sl_phone_edge *edge)
{
    const struct sl_phrasebook *book = search->books[side];
    if (book == NULL || (edge->from != 0 && edge->settings == NULL) ||
        (edge->from != 0 && sl_settings_named(edge->settings) == 0)) {
        return meaning;
    }
    struct sl_meaning after = search->meanings[meaning];
    if (edge->from == 0) {
        const struct sl_phrase *phrase = &book->phrases[edge->phrase];
        after = (struct sl_meaning){.phase = phrase->phase, .settings = phrase->settings};
    }
    if (edge->settings != NULL) {
        sl_settings_merge(&after.settings, edge->settings);
    }
    return number_of(search, &after);
}

/* Goes on from a node by an edge on one side, or on both, at a cost. */
static void step(struct sl_phone_search *search, uint32_t from,
                 const struct sl_phone_edge *const edges[2], int cost)
{
    struct sl_phone_node way = search->nodes[from];
    way.parent = from;
    way.done = false;
    way.cost += (uint32_t)cost;
    for (int side = 0; side < 2; side++) {
        way.edge[side] = SL_NODE_NONE;
        if (edges[side] != NULL) {
            way.at[side] = (uint32_t)edges[side]->to;
            way.meaning[side] = meaning_after(search, side, way.meaning[side], edges[side]);
            way.edge[side] = (uint32_t)(edges[side] - search->nets[side].edges);
            way.length += edges[side]->phone == SL_PHONE_NONE ? 0 : 1;
        }
    }
    reach(search, &way);
}

/* What is said on one side only. */
static int alone_cost(const struct sl_phone_edge *edge)
{
    return edge->phone == SL_PHONE_NONE ? 0 : SL_PHONE_WHOLE;
}

static void expand(struct sl_phone_search *search, uint32_t from)
{
    const struct sl_phone_node node = search->nodes[from];
    const struct sl_phone_net *nets = search->nets;
    size_t first = nets[1].first[node.at[1]];
    size_t end = nets[1].first[node.at[1] + 1];
    for (size_t i = nets[0].first[node.at[0]]; i < nets[0].first[node.at[0] + 1]; i++) {
        const struct sl_phone_edge *edges[2] = {&nets[0].edges[i], NULL};
        step(search, from, edges, alone_cost(edges[0]));
        for (size_t k = first; k < end && edges[0]->phone != SL_PHONE_NONE; k++) {
            edges[1] = &nets[1].edges[k];
            if (edges[1]->phone != SL_PHONE_NONE) {
                step(search, from, edges, sl_phone_cost(edges[0]->phone, edges[1]->phone));
            }
        }
    }
    for (size_t k = first; k < end; k++) {
        const struct sl_phone_edge *const edges[2] = {NULL, &nets[1].edges[k]};
        step(search, from, edges, alone_cost(edges[1]));
    }
}

/* The next pair of ends, nearest first, or SL_NODE_NONE. */
uint32_t sl_phone_search_next(struct sl_phone_search *search)
{
    while (search->n_heap > 0 && !search->no_memory) {
        uint32_t top = heap_pop(search);
        struct sl_phone_node *node = &search->nodes[top];
        if (node->done) {
            continue;
        }
        node->done = true;
        if (node->at[0] == search->nets[0].end && node->at[1] == search->nets[1].end) {
            return top;
        }
        expand(search, top);
    }
    return SL_NODE_NONE;
}

void sl_phone_search_begin(struct sl_phone_search *search)
{
    struct sl_meaning nothing = {.phase = SL_PHRASE_FILLER};
    (void)number_of(search, &nothing);
    struct sl_phone_node start = {.edge = {SL_NODE_NONE, SL_NODE_NONE}, .parent = SL_NODE_NONE};
    reach(search, &start);
}

void sl_phone_search_clear(struct sl_phone_search *search)
{
    sl_phone_net_clear(&search->nets[0]);
    sl_phone_net_clear(&search->nets[1]);
    free(search->nodes);
    free(search->table);
    free(search->heap);
    free(search->meanings);
    *search = (struct sl_phone_search){0};
}
