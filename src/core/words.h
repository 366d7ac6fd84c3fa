/*
 * Typed text as words, the way the phrasebook writes them.
 */
#ifndef SL_CORE_WORDS_H
#define SL_CORE_WORDS_H

#include <stdbool.h>
#include <stddef.h>

/* Initialise with {0}; release with sl_words_clear. */
struct sl_words {
    char **items; /* lower case in ASCII; owned */
    size_t count, room;
};

/*
 * A word is a run of letters, figures and bytes beyond ASCII, with apostrophes and hyphens only
 * between them; typographic ones become plain. False when memory runs out.
 */
bool sl_words_split(const char *text, struct sl_words *words);

void sl_words_clear(struct sl_words *words);

#endif
