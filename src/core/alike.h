/*
 * Phrases that sound alike: the least edit distance over phones (phones.h) between all ways of
 * saying one thing and all ways of saying another. It is found by Dijkstra's search over pairs of
 * places in two nets of phones, so no phrase has to be written out.
 *
 * Distances are in parts of a phone, SL_PHONE_WHOLE to the phone.
 */
#ifndef SL_CORE_ALIKE_H
#define SL_CORE_ALIKE_H

#include "core/phones.h"
#include "core/phrasebook.h"
#include "core/status.h"

#include <stddef.h>

/* Nearer than this, a third of a phone, two things are too alike: the same sounds, or one vowel or
 * one consonant's place that is a little different. "Thirty" and "forty" are just that far apart,
 * and are told apart in quiet (common practice, no source). */
#define SL_ALIKE_TOO_NEAR (SL_PHONE_WHOLE / 3)

/* One thing that is said. */
struct sl_alike_side {
    char *words; /* owned */
    size_t phrase;
    struct sl_settings settings; /* the phrase's and its slots' together */
};

struct sl_alike {
    int distance;
    struct sl_alike_side one, other;
};

/* Initialise with {0}; release with sl_alikes_clear. */
struct sl_alikes {
    struct sl_alike *items; /* the nearest first; deterministic */
    size_t count, room;
};

/*
 * The pairs of different meaning (phase or settings) that are nearer than `limit`, each pair of
 * differing settings once, in its nearest words. Settings that both sides share are no difference:
 * "first gear" and "third gear" stand for every sentence with them in it. The book is compiled;
 * words without a pronunciation are left out. SL_NO_MEMORY; SL_TOO_LARGE where the search grows
 * beyond 20 million pairs of places.
 */
enum sl_status sl_alike_within(const struct sl_phrasebook *book,
                               const struct sl_pronunciations *pronunciations, int limit,
                               struct sl_alikes *found, struct sl_error *error);

/*
 * The `most` phrases nearest to a row of words, each phrase once, nearer than `limit`: `one` is the
 * words, `other` the phrase as it would be said. Words without a pronunciation are passed over.
 */
struct sl_alike_text {
    const char *const *words;
    size_t n_words;
    size_t most;
    int limit;
};
enum sl_status sl_alike_nearest(const struct sl_phrasebook *book,
                                const struct sl_pronunciations *pronunciations,
                                const struct sl_alike_text *text, struct sl_alikes *found,
                                struct sl_error *error);

void sl_alikes_clear(struct sl_alikes *found);

#endif
