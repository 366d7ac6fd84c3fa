#include "rng.h"

static uint64_t splitmix64(uint64_t *state)
{
    *state += UINT64_C(0x9e3779b97f4a7c15);
    uint64_t z = *state;
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static uint64_t rotate_left(uint64_t x, int bits)
{
    return (x << bits) | (x >> (64 - bits));
}

void corpus_rng_init(struct corpus_rng *rng, uint64_t start)
{
    for (size_t i = 0; i < 4; i++) {
        rng->state[i] = splitmix64(&start);
    }
}

uint64_t corpus_rng_next(struct corpus_rng *rng)
{
    uint64_t *s = rng->state;
    uint64_t result = rotate_left(s[1] * 5, 7) * 9;
    uint64_t t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate_left(s[3], 45);
    return result;
}

static double uniform(struct corpus_rng *rng)
{
    return (double)(corpus_rng_next(rng) >> 11) * 0x1.0p-53;
}

size_t corpus_rng_below(struct corpus_rng *rng, size_t count)
{
    return (size_t)(uniform(rng) * (double)count);
}

double corpus_rng_between(struct corpus_rng *rng, double low, double high)
{
    return low + (high - low) * uniform(rng);
}

bool corpus_rng_chance(struct corpus_rng *rng, double p)
{
    return uniform(rng) < p;
}

double corpus_rng_normal(struct corpus_rng *rng)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        sum += uniform(rng);
    }
    return sum;
}
