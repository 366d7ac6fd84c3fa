/*
 * The minimal pairs: settings that differ in one short word, and how often one is heard as its
 * twin.
 */
#ifndef BENCH_PAIRS_H
#define BENCH_PAIRS_H

#include "core/settings.h"

#include <stddef.h>

enum bench_pair {
    BENCH_PAIR_MIRROR, /* left, right */
    BENCH_PAIR_SIGNAL, /* left, right */
    BENCH_PAIR_GEAR,   /* first, second */
    BENCH_PAIR_CLUTCH, /* up, down */
    BENCH_PAIR_SPEED,  /* five, ten, fifteen */
    BENCH_PAIR_COUNT
};

/* "left/right mirror" */
const char *bench_pair_name(enum bench_pair pair);

struct bench_pair_counts {
    size_t said;
    size_t right;
    size_t twin;    /* heard as the other one of the pair */
    size_t other;   /* as something else: third gear, 20 mph, both mirrors */
    size_t unheard; /* the step was not found, or without this setting */
};

/* Counts one step: what was said in it against what was heard; heard {0}: nothing. */
void bench_pairs_count(const struct sl_settings *said, const struct sl_settings *heard,
                       struct bench_pair_counts counts[BENCH_PAIR_COUNT]);

#endif
