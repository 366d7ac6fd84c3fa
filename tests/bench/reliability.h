/*
 * Whether a confidence means what it says: phrases by their confidence, and the share of them that
 * were right. The expected calibration error is the mean difference between the two, weighted by
 * the number of phrases in each bin (Naeini, Cooper and Hauskrecht, *Obtaining well calibrated
 * probabilities using Bayesian binning*, AAAI 2015).
 */
#ifndef BENCH_RELIABILITY_H
#define BENCH_RELIABILITY_H

#include <stdbool.h>
#include <stddef.h>

#define BENCH_BINS 10

/* Initialise with {0}. */
struct bench_reliability {
    size_t n[BENCH_BINS], right[BENCH_BINS];
    double sum[BENCH_BINS]; /* of confidences */
};

/* `confidence` from 0 to 1. */
void bench_reliability_add(struct bench_reliability *reliability, double confidence, bool right);

void bench_reliability_join(struct bench_reliability *into, const struct bench_reliability *more);

/* NAN when nothing was added. */
double bench_reliability_error(const struct bench_reliability *reliability);

#endif
