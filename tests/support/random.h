/*
 * A small random generator with a fixed start, so that every run of a test is the same run.
 */
#ifndef SL_TESTS_RANDOM_H
#define SL_TESTS_RANDOM_H

#include <stddef.h>
#include <stdint.h>

/* SplitMix64 (Steele, Lea, Flood 2014). */
static inline uint64_t random_next(uint64_t *state)
{
    uint64_t z = *state += 0x9e3779b97f4a7c15U;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
}

/* 0 to n - 1. */
static inline size_t random_below(uint64_t *state, size_t n)
{
    return (size_t)(random_next(state) % n);
}

/* 0 to 1. */
static inline double random_share(uint64_t *state)
{
    return (double)(random_next(state) >> 11) / 9007199254740992.0;
}

#endif
