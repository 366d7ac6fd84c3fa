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

#endif
