/*
 * Words of a phrasebook that nobody can pronounce yet.
 */
#ifndef SL_CORE_UNSPOKEN_H
#define SL_CORE_UNSPOKEN_H

#include "core/phones.h"
#include "core/phrasebook.h"

/* A word without a pronunciation, and the first phrase in which it stands. The word belongs to the
 * book. */
struct sl_unspoken {
    const char *word;
    size_t phrase;
};

/* Initialise with {0}; the items are the caller's to free. */
struct sl_unspoken_list {
    struct sl_unspoken *items; /* by word */
    size_t count, room;
};

/* The words of a compiled book without a pronunciation, each once. SL_NO_MEMORY. */
enum sl_status sl_unspoken_find(const struct sl_phrasebook *book,
                                const struct sl_pronunciations *pronunciations,
                                struct sl_unspoken_list *list, struct sl_error *error);

#endif
