/*
 * Damage to bytes, drawn from a fixed start, so that a failure can be repeated by its number.
 */
#ifndef TESTS_FUZZ_MUTATE_H
#define TESTS_FUZZ_MUTATE_H

#include "support/random.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

struct bytes {
    unsigned char *at;
    size_t n, room;
};

/* Writes one of the values that counts and lengths fail on, of 1, 2 or 4 bytes. */
static inline void mutate_number(uint64_t *state, struct bytes *bytes, size_t at)
{
    static const uint32_t values[] = {0,          1,          2,          0x7f,       0x80,
                                      0xff,       0x7fff,     0x8000,     0xffff,     0x7fffffff,
                                      0x80000000, 0xffffffff, 0xfffffffe, 0x40000000, 0x00010000};
    uint32_t value = values[random_below(state, sizeof values / sizeof values[0])];
    size_t size = (size_t)1 << random_below(state, 3);
    bool big_endian = random_below(state, 2) == 1;
    for (size_t i = 0; i < size && at + i < bytes->n; i++) {
        size_t byte = big_endian ? size - 1 - i : i;
        bytes->at[at + i] = (unsigned char)(value >> (8 * byte));
    }
}

/* Takes out `n` bytes, or says some of them twice. */
static inline void mutate_length(uint64_t *state, struct bytes *bytes, size_t at)
{
    size_t n = 1 + random_below(state, 32);
    n = n < bytes->n - at ? n : bytes->n - at;
    unsigned char *from = bytes->at + at;
    if (random_below(state, 2) == 0) {
        memmove(from, from + n, bytes->n - at - n);
        bytes->n -= n;
    } else if (bytes->n + n <= bytes->room) {
        memmove(from + n, from, bytes->n - at);
        bytes->n += n;
    }
}

/* One to six kinds of damage, most of them within the first `head` bytes. */
static inline void mutate(uint64_t *state, struct bytes *bytes, size_t head)
{
    size_t times = 1 + random_below(state, 6);
    for (size_t i = 0; i < times && bytes->n > 0; i++) {
        size_t most = head < bytes->n && random_below(state, 4) > 0 ? head : bytes->n;
        size_t at = random_below(state, most);
        switch (random_below(state, 5)) {
        case 0:
            bytes->at[at] ^= (unsigned char)(1U << random_below(state, 8));
            break;
        case 1:
            bytes->at[at] = (unsigned char)random_below(state, 256);
            break;
        case 2:
            mutate_number(state, bytes, at);
            break;
        case 3:
            mutate_length(state, bytes, at);
            break;
        default:
            if (random_below(state, 8) == 0) {
                bytes->n = at;
            }
            break;
        }
    }
}

#endif
