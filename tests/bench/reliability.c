#include "bench/reliability.h"

#include <math.h>

void bench_reliability_add(struct bench_reliability *reliability, double confidence, bool right)
{
    size_t bin = confidence >= 1 ? BENCH_BINS - 1 : (size_t)(confidence * BENCH_BINS);
    reliability->n[bin]++;
    reliability->right[bin] += right ? 1 : 0;
    reliability->sum[bin] += confidence;
}

void bench_reliability_join(struct bench_reliability *into, const struct bench_reliability *more)
{
    for (size_t i = 0; i < BENCH_BINS; i++) {
        into->n[i] += more->n[i];
        into->right[i] += more->right[i];
        into->sum[i] += more->sum[i];
    }
}

double bench_reliability_error(const struct bench_reliability *reliability)
{
    double off = 0;
    size_t n = 0;
    for (size_t i = 0; i < BENCH_BINS; i++) {
        off += fabs(reliability->sum[i] - (double)reliability->right[i]);
        n += reliability->n[i];
    }
    return n == 0 ? NAN : off / (double)n;
}
