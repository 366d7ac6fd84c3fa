#include "core/phone_net.h"

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

static bool add_edge(struct sl_phone_net *net, const struct sl_phone_edge *edge)
{
    struct sl_phone_edge *edges = sl_grow(net->edges, net->n_edges, &net->room, sizeof *edges);
    if (edges == NULL) {
        return false;
    }
    net->edges = edges;
    edges[net->n_edges++] = *edge;
    return true;
}

/* A word's edge as a chain of one variant's phones. */
static bool add_variant(struct sl_phone_net *net, const struct sl_phone_edge *word,
                        const char *phones)
{
    struct sl_phone_edge edge = *word;
    while (*phones != '\0') {
        size_t length = strcspn(phones, " ");
        edge.phone = sl_phone_from_name(phones, length);
        phones += length;
        phones += strspn(phones, " ");
        edge.to = *phones == '\0' ? word->to : net->n_states++;
        if (!add_edge(net, &edge)) {
            return false;
        }
        edge.from = edge.to;
        edge.word = NULL;
        edge.settings = NULL;
    }
    return true;
}

static bool add_word(struct sl_phone_net *net, const struct sl_phone_edge *word,
                     const struct sl_pronunciations *pronunciations)
{
    size_t first = 0;
    size_t n = sl_pronunciations_find(pronunciations, word->word, &first);
    for (size_t i = 0; i < n; i++) {
        if (!add_variant(net, word, pronunciations->items[first + i].phones)) {
            return false;
        }
    }
    return true;
}

static int compare_edges(const void *a, const void *b)
{
    const struct sl_phone_edge *x = a;
    const struct sl_phone_edge *y = b;
    if (x->from != y->from) {
        return x->from < y->from ? -1 : 1;
    }
    /* The order in which they were made: the same net every time. */
    return x->to < y->to ? -1 : x->to > y->to;
}

static bool finish(struct sl_phone_net *net, bool fine)
{
    net->first = fine ? calloc(net->n_states + 1, sizeof *net->first) : NULL;
    if (net->first == NULL) {
        sl_phone_net_clear(net);
        return false;
    }
    if (net->n_edges > 0) {
        qsort(net->edges, net->n_edges, sizeof *net->edges, compare_edges);
    }
    size_t edge = 0;
    for (size_t state = 0; state <= net->n_states; state++) {
        while (edge < net->n_edges && net->edges[edge].from < state) {
            edge++;
        }
        net->first[state] = edge;
    }
    return true;
}

bool sl_phone_net_of_book(const struct sl_phrasebook *book,
                          const struct sl_pronunciations *pronunciations, struct sl_phone_net *net)
{
    const struct sl_graph *graph = &book->graph;
    bool fine = true;
    net->end = graph->n_states; /* the hub is the start only */
    net->n_states = graph->n_states + 1;
    for (size_t i = 0; i < graph->n_arcs && fine; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        struct sl_phone_edge edge = {.from = arc->from,
                                     .to = arc->to == 0 ? net->end : arc->to,
                                     .phone = SL_PHONE_NONE,
                                     .word = arc->word,
                                     .settings = &arc->settings,
                                     .phrase = arc->phrase};
        fine = arc->word == NULL ? add_edge(net, &edge) : add_word(net, &edge, pronunciations);
    }
    return finish(net, fine);
}

bool sl_phone_net_of_words(const char *const *words, size_t n_words,
                           const struct sl_pronunciations *pronunciations, struct sl_phone_net *net)
{
    bool fine = true;
    net->end = n_words;
    net->n_states = n_words + 1;
    for (size_t i = 0; i < n_words && fine; i++) {
        struct sl_phone_edge edge = {.from = i, .to = i + 1, .word = words[i]};
        fine = add_word(net, &edge, pronunciations);
    }
    return finish(net, fine);
}

void sl_phone_net_clear(struct sl_phone_net *net)
{
    free(net->edges);
    free(net->first);
    *net = (struct sl_phone_net){0};
}
