/*
 * PocketSphinx as it comes, to compare with: its large language model (Debian's en-us.lm.bin with
 * cmudict) or its keyword mode, on the same acoustic model. Only stock.c knows the library.
 *
 * The language model is heard in two ways. One is with the library's own settings and as its own
 * programs read a file: in blocks of 128 ms, a new utterance wherever its detector of speech finds
 * a pause, silence left out. The other, and the keywords, are helped as far as can be: a whole
 * recording is one utterance, so that the mean of the voice is known from the start; silence is
 * kept, so that times are right.
 *
 * How words become phrases of the routine is kind to all of them: they are read by the project's
 * own matcher of typed text (core/phrasebook.h), which passes over words that fit nothing, reaches
 * over pauses, and takes the longest phrase. All that is matched counts as clear: there is no
 * confidence to ask. The keywords are every way of saying each step, up to 40 for each set of
 * settings (keywords.h), with the thresholds that did best on tuning speakers, and of keywords
 * found in the same place the best.
 */
#ifndef BENCH_STOCK_H
#define BENCH_STOCK_H

#include "core/heard.h"
#include "core/routine.h"
#include "core/status.h"

#include <stdint.h>

enum bench_stock_mode { BENCH_STOCK_PLAIN, BENCH_STOCK_MODEL, BENCH_STOCK_KEYWORDS };

struct bench_stock;

/* The routine must outlive it. SL_NOT_FOUND when Debian's model is not installed, SL_UNSUPPORTED
 * when the library does not start. */
enum sl_status bench_stock_new(enum bench_stock_mode mode, const struct sl_routine *routine,
                               struct bench_stock **stock, struct sl_error *error);

/* Hears a whole recording, 16 kHz mono. Adds phrases to `heard` in order of start. */
enum sl_status bench_stock_hear(struct bench_stock *stock, const int16_t *samples, size_t n,
                                struct sl_heard_list *heard, struct sl_error *error);

/* NULL is fine. */
void bench_stock_free(struct bench_stock *stock);

#endif
