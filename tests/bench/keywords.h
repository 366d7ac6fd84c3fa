/*
 * A list of keywords made from a phrasebook: of each phrase, and of each set of settings that it
 * can name, the shortest wordings.
 */
#ifndef BENCH_KEYWORDS_H
#define BENCH_KEYWORDS_H

#include "core/phrasebook.h"
#include "core/status.h"

#include <stddef.h>

#define BENCH_WORDINGS 40 /* of each phrase and set of settings */

/* Initialise with {0}; release with bench_keywords_clear. */
struct bench_keywords {
    char **texts; /* "second gear"; each once */
    size_t count, room;
};

/* Fillers and corrections are left out, as nothing is marked by them. */
enum sl_status bench_keywords_make(const struct sl_phrasebook *book,
                                   struct bench_keywords *keywords, struct sl_error *error);

void bench_keywords_clear(struct bench_keywords *keywords);

#endif
