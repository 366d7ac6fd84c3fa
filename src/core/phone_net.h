/*
 * A phrasebook, or a typed text, as a net of phones: every way of saying it, with every variant of
 * every word, is a path from its start to its end. Used by alike.c only.
 */
#ifndef SL_CORE_PHONE_NET_H
#define SL_CORE_PHONE_NET_H

#include "core/phones.h"
#include "core/phrasebook.h"

#include <stdbool.h>

struct sl_phone_edge {
    size_t from, to;
    int phone;                          /* SL_PHONE_NONE: an empty step */
    const char *word;                   /* of the first phone of a word; NULL on the others */
    const struct sl_settings *settings; /* named by taking it; NULL: none */
    size_t phrase;
};

/* State 0 is the start, `end` the end; no way leads back. Initialise with {0}; release with
 * sl_phone_net_clear. Words and settings belong to the book, or to the text's words. */
struct sl_phone_net {
    struct sl_phone_edge *edges; /* sorted by `from` */
    size_t n_edges, room;
    size_t *first; /* by state: its first edge; n_states + 1 of them */
    size_t n_states, end;
};

/* Of a compiled book; words without a pronunciation are left out. False when memory ran out. */
bool sl_phone_net_of_book(const struct sl_phrasebook *book,
                          const struct sl_pronunciations *pronunciations, struct sl_phone_net *net);

/* Of words in a row. */
bool sl_phone_net_of_words(const char *const *words, size_t n_words,
                           const struct sl_pronunciations *pronunciations,
                           struct sl_phone_net *net);

void sl_phone_net_clear(struct sl_phone_net *net);

#endif
