/*
 * Chance that is the same on every machine for a seed: splitmix64 (Steele, Lea and Flood, "Fast
 * splittable pseudorandom number generators", OOPSLA 2014; public domain).
 */
#ifndef SL_CORE_RANDOM_H
#define SL_CORE_RANDOM_H

#include <stddef.h>
#include <stdint.h>

/* The next number; *state, the seed at first, goes on. */
uint64_t sl_random_next(uint64_t *state);

/* A number from 0 to bound - 1; bound is at least 1. */
size_t sl_random_below(uint64_t *state, size_t bound);

/* Fills order[0..n) with 0 to n - 1, each once, mixed (Fisher and Yates). */
void sl_random_order(uint64_t *state, size_t *order, size_t n);

#endif
