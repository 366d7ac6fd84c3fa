#include "core/phrasebook.h"

#include <stdlib.h>

void sl_phrasebook_clear(struct sl_phrasebook *book)
{
    for (size_t i = 0; i < book->n_phrases; i++) {
        free(book->phrases[i].pattern);
    }
    for (size_t i = 0; i < book->n_slots; i++) {
        for (size_t j = 0; j < book->slots[i].n_values; j++) {
            free(book->slots[i].values[j].words);
        }
        free(book->slots[i].values);
        free(book->slots[i].name);
    }
    for (size_t i = 0; i < book->graph.n_words; i++) {
        free(book->graph.words[i]);
    }
    free(book->graph.words);
    free(book->graph.arcs);
    free(book->phrases);
    free(book->slots);
    *book = (struct sl_phrasebook){0};
}
