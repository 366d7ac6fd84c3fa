/*
 * Twins of a phrase: phrases of the same phase that differ from it in one word and name other
 * settings, such as "clutch up" and "clutch down". The search takes whichever fits best, however
 * narrowly; how narrowly is found by holding the twins against the same sound.
 */
#ifndef SL_SPEECH_TWINS_H
#define SL_SPEECH_TWINS_H

#include "core/status.h"
#include "speech/phrases.h"

#include <stddef.h>

/* A word in place of the phrase's own. */
struct sl_twin {
    size_t place; /* of the word among the phrase's */
    size_t other; /* word, an index into the graph's */
};

/* Initialise with {0}; release with sl_twins_clear. */
struct sl_twins {
    size_t *words; /* the phrase's own, in order, indices into the graph's */
    size_t n_words, words_room;
    struct sl_twin *items;
    size_t count, room;
};

/* Finds the twins of a phrase on the best path `segments`. Replaces *twins. SL_NO_MEMORY only. */
enum sl_status sl_twins_find(const struct sl_paths *paths, const struct sl_span *span,
                             const struct sl_segments *segments, struct sl_twins *twins,
                             struct sl_error *error);

/* NULL is fine. */
void sl_twins_clear(struct sl_twins *twins);

#endif
