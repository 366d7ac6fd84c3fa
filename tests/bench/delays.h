/*
 * How soon after a phrase was said it came out, counted in samples that were fed.
 */
#ifndef BENCH_DELAYS_H
#define BENCH_DELAYS_H

#include "corpus/labels.h"

#include "core/heard.h"
#include "core/routine.h"

#include <stddef.h>
#include <stdio.h>

/* Initialise with {0}; release with bench_delays_clear. */
struct bench_delays {
    double *items_s; /* of phrases that stood: when they came out, less the end of their label */
    size_t count, room;
    double foreknown_s; /* how long before its own last sound one of these came out, at the most */
    size_t given;       /* clear phrases of the routine that came out */
    size_t gone_on;     /* of these, gone on with: the same words and more took their place */
    size_t replaced;    /* of these, replaced by other words */
    FILE *list;         /* delays over 0.5 s or below 0, and replacements; NULL: nowhere */
};

/* What came out of a listener, on the labels' clock, and when each phrase did. */
struct bench_given {
    struct sl_heard_list heard;
    double *at_s;
    size_t at_room;
};

/* Notes that the phrases from number `first` on came out at this moment; false: no memory. */
bool bench_given_stamp(struct bench_given *given, size_t first, double at_s);
void bench_given_clear(struct bench_given *given);

/* Counts all that came out of one recording; the phrases that stand are added to `last`. */
enum sl_status bench_delays_add(struct bench_delays *delays, const struct sl_routine *routine,
                                const struct corpus_labels *labels, const struct bench_given *given,
                                struct sl_heard_list *last);

/* Delay that this share (0 to 1) of the right phrases does not exceed; NAN without any. */
double bench_delays_s(struct bench_delays *delays, double share);

void bench_delays_clear(struct bench_delays *delays);

#endif
