/*
 * Statistics with their sources.
 */
#ifndef SL_CORE_STATISTICS_H
#define SL_CORE_STATISTICS_H

#include <stddef.h>

struct sl_kendall {
    size_t concordant, discordant; /* pairs */
    size_t tied_x, tied_y;         /* pairs tied in x only, in y only */
    double tau_b;                  /* NAN when one side is constant or n < 2 */
};

/* Kendall's rank correlation tau-b: (C - D) / sqrt((C + D + Tx)(C + D + Ty)). Kendall 1938, 1945.
 * n^2 steps. */
struct sl_kendall sl_kendall(const double *x, const double *y, size_t n);

/* Quantile of values (q 0 to 1) by linear interpolation between order statistics (type 7 of Hyndman
 * and Fan 1996). Sorts `values`, which are finite. NAN when n is 0; q beyond its range counts as
 * its end. */
double sl_quantile(double *values, size_t n, double q);

struct sl_interval {
    double low, high;
};

/* The 95 % score interval of a share of `hits` in `of` tries: Wilson, Probable inference, the law
 * of succession, and statistical inference, JASA 22 (1927), 209-212; without continuity correction.
 * Within 0 and 1; both NAN when `of` is 0. hits <= of. */
struct sl_interval sl_wilson_95(size_t hits, size_t of);

struct sl_share {
    size_t hits, of; /* hits <= of */
};

/* The 95 % interval of the difference a - b of two independent shares, by the square-and-add of
 * their Wilson intervals: method 10 of Newcombe, Interval estimation for the difference between
 * independent proportions, Statistics in Medicine 17 (1998), 873-890. Within -1 and 1; both NAN
 * when a side has no tries. */
struct sl_interval sl_difference_95(struct sl_share a, struct sl_share b);

#endif
