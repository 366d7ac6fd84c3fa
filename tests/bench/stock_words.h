/*
 * Words with times, as a decoder gives them, read as phrases of a routine.
 */
#ifndef BENCH_STOCK_WORDS_H
#define BENCH_STOCK_WORDS_H

#include "core/heard.h"
#include "core/routine.h"
#include "core/status.h"

#include <stddef.h>

/* A word or, from a list of keywords, several: "clutch up". */
struct bench_word {
    char *text; /* owned */
    double start_s, end_s;
    double score; /* a keyword's, against any other speech: 0 is best */
};

/* In order of start. Initialise with {0}; release with bench_words_clear. */
struct bench_words {
    struct bench_word *items;
    size_t count, room;
};

/* Adds a copy at the end; silences, noises ("<sil>", "[NOISE]", "++BREATH++") are left out, a
 * number of the pronunciation ("the(2)") is cut off. */
enum sl_status bench_words_add(struct bench_words *words, const struct bench_word *word,
                               struct sl_error *error);

/* Finds phrases in the words, one after the other (sl_phrasebook_match), and adds them to `heard`.
 */
enum sl_status bench_words_read(const struct bench_words *words, const struct sl_routine *routine,
                                struct sl_heard_list *heard, struct sl_error *error);

/* Of words that overlap in time, keeps the one with the best score a second, which favours long
 * words that fit well. Sorts by start. */
void bench_words_keep_best(struct bench_words *words);

void bench_words_clear(struct bench_words *words);

#endif
