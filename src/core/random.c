#include "core/random.h"

#include <assert.h>

uint64_t sl_random_next(uint64_t *state)
{
    *state += UINT64_C(0x9E3779B97F4A7C15);
    uint64_t z = *state;
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

size_t sl_random_below(uint64_t *state, size_t bound)
{
    assert(bound > 0);
    return (size_t)(sl_random_next(state) % bound);
}

void sl_random_order(uint64_t *state, size_t *order, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        order[i] = i;
    }
    for (size_t i = n; i > 1; i--) {
        size_t other = sl_random_below(state, i);
        size_t kept = order[i - 1];
        order[i - 1] = order[other];
        order[other] = kept;
    }
}
