/*
 * The search over pairs of places in two nets of phones, nearest first (Dijkstra 1959). Used by
 * alike.c only.
 */
#ifndef SL_CORE_PHONE_SEARCH_H
#define SL_CORE_PHONE_SEARCH_H

#include "core/phone_net.h"

#include <stdbool.h>
#include <stdint.h>

#define SL_PHONE_NODES_MAX 20000000U
#define SL_NODE_NONE UINT32_MAX

/* What a way through a net means so far: a phase and settings. */
struct sl_meaning {
    size_t phase;
    struct sl_settings settings;
};

/* A pair of places, and the best way to it. */
struct sl_phone_node {
    uint32_t at[2], meaning[2]; /* states of the nets; meanings by number */
    uint32_t edge[2];           /* taken last; SL_NODE_NONE */
    uint32_t cost, length;      /* length: phones so far, the shorter of equal ones first */
    uint32_t parent;
    bool done;
};

struct sl_phone_search {
    const struct sl_phrasebook *books[2]; /* NULL: a row of words */
    struct sl_phone_net nets[2];
    struct sl_phone_node *nodes;
    size_t n_nodes, nodes_room;
    uint32_t *table; /* hash of (at, meaning): a node, or SL_NODE_NONE */
    size_t table_size;
    uint32_t *heap;
    size_t n_heap, heap_room;
    struct sl_meaning *meanings; /* 0: nothing yet */
    size_t n_meanings, meanings_room;
    uint32_t limit;
    bool no_memory;
};

/* Begins at the starts of both nets, which have been made. */
void sl_phone_search_begin(struct sl_phone_search *search);

/* The next way to both ends, a node, nearest first and of equal ones the shortest first;
 * SL_NODE_NONE when there is none nearer than the limit, or no_memory is set. */
uint32_t sl_phone_search_next(struct sl_phone_search *search);

/* Releases the nets as well. */
void sl_phone_search_clear(struct sl_phone_search *search);

#endif
