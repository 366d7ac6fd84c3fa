#include "core/unspoken.h"

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

/* The first phrase of the book with the word. */
static size_t phrase_with(const struct sl_graph *graph, const char *word)
{
    size_t phrase = (size_t)-1;
    for (size_t i = 0; i < graph->n_arcs; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        if (arc->word != NULL && strcmp(arc->word, word) == 0 && arc->phrase < phrase) {
            phrase = arc->phrase;
        }
    }
    return phrase;
}

enum sl_status sl_unspoken_find(const struct sl_phrasebook *book,
                                const struct sl_pronunciations *pronunciations,
                                struct sl_unspoken_list *list, struct sl_error *error)
{
    const struct sl_graph *graph = &book->graph;
    struct sl_unspoken_list made = {0};
    for (size_t i = 0; i < graph->n_words; i++) {
        size_t first = 0;
        if (sl_pronunciations_find(pronunciations, graph->words[i], &first) > 0) {
            continue;
        }
        struct sl_unspoken *items = sl_grow(made.items, made.count, &made.room, sizeof *items);
        if (items == NULL) {
            free(made.items);
            return sl_fail_memory(error);
        }
        made.items = items;
        items[made.count++] =
            (struct sl_unspoken){graph->words[i], phrase_with(graph, graph->words[i])};
    }
    free(list->items);
    *list = made;
    return SL_OK;
}
