#include "speech/dither.h"

/* The output step of splitmix64 (Steele, Lea and Flood 2014; public domain): any two places in the
 * sound get unrelated numbers. */
static uint64_t scramble(uint64_t place)
{
    uint64_t z = (place + 1) * UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

void sl_dither_copy(int16_t *to, const int16_t *from, size_t n, size_t position)
{
    for (size_t i = 0; i < n; i++) {
        int noise = (int)(scramble(position + i) % (2 * SL_DITHER_STEPS + 1)) - SL_DITHER_STEPS;
        int sum = from[i] + noise;
        sum = sum > INT16_MAX ? INT16_MAX : sum;
        to[i] = (int16_t)(sum < INT16_MIN ? INT16_MIN : sum);
    }
}
