/*
 * Random numbers that are the same on every machine: xoshiro256** (Blackman and Vigna, 2018),
 * its state filled by splitmix64, as its authors advise. Both are in the public domain; written
 * here from the published description.
 */
#ifndef CORPUS_RNG_H
#define CORPUS_RNG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct corpus_rng {
    uint64_t state[4];
};

void corpus_rng_init(struct corpus_rng *rng, uint64_t start);

uint64_t corpus_rng_next(struct corpus_rng *rng);

/* From 0 to `count` - 1; count > 0. */
size_t corpus_rng_below(struct corpus_rng *rng, size_t count);

/* From `low` (included) to `high`. */
double corpus_rng_between(struct corpus_rng *rng, double low, double high);

/* True with the chance `p`. */
bool corpus_rng_chance(struct corpus_rng *rng, double p);

/* Nearly normal, mean 0, variance 1: the sum of twelve uniform numbers less 6 (no libm, so that
 * every machine agrees). */
double corpus_rng_normal(struct corpus_rng *rng);

#endif
