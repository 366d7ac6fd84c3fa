#include "core/statistics.h"

#include <math.h>
#include <stdlib.h>

/* -1, 0 or 1; 0 only for equal values. */
static int order_of(double a, double b)
{
    return (a > b) - (a < b);
}

struct sl_kendall sl_kendall(const double *x, const double *y, size_t n)
{
    struct sl_kendall kendall = {.tau_b = NAN};
    for (size_t i = 0; i < n; i++) {
        for (size_t j = i + 1; j < n; j++) {
            int by_x = order_of(x[i], x[j]);
            int by_y = order_of(y[i], y[j]);
            kendall.concordant += by_x * by_y > 0;
            kendall.discordant += by_x * by_y < 0;
            kendall.tied_x += by_x == 0 && by_y != 0;
            kendall.tied_y += by_x != 0 && by_y == 0;
        }
    }
    double untied = (double)kendall.concordant + (double)kendall.discordant;
    double product = (untied + (double)kendall.tied_x) * (untied + (double)kendall.tied_y);
    if (product > 0) {
        kendall.tau_b = ((double)kendall.concordant - (double)kendall.discordant) / sqrt(product);
    }
    return kendall;
}

static int compare(const void *a, const void *b)
{
    return order_of(*(const double *)a, *(const double *)b);
}

double sl_quantile(double *values, size_t n, double q)
{
    if (n == 0) {
        return NAN;
    }
    qsort(values, n, sizeof *values, compare);
    double place = fmin(fmax(q, 0), 1) * (double)(n - 1);
    size_t below = (size_t)floor(place);
    size_t above = below + 1 < n ? below + 1 : below;
    return values[below] + (place - (double)below) * (values[above] - values[below]);
}

#define Z_95 1.959963984540054 /* the 0.975 quantile of the normal distribution */

struct sl_interval sl_wilson_95(size_t hits, size_t of)
{
    if (of == 0) {
        return (struct sl_interval){NAN, NAN};
    }
    double n = (double)of;
    double share = (double)hits / n;
    double scale = 1 + Z_95 * Z_95 / n;
    double centre = (share + Z_95 * Z_95 / (2 * n)) / scale;
    double half = Z_95 * sqrt(share * (1 - share) / n + Z_95 * Z_95 / (4 * n * n)) / scale;
    /* None and all reach their ends exactly, whatever the rounding. */
    return (struct sl_interval){.low = hits == 0 ? 0 : fmax(centre - half, 0),
                                .high = hits == of ? 1 : fmin(centre + half, 1)};
}

struct sl_interval sl_difference_95(struct sl_share a, struct sl_share b)
{
    if (a.of == 0 || b.of == 0) {
        return (struct sl_interval){NAN, NAN};
    }
    struct sl_interval of_a = sl_wilson_95(a.hits, a.of);
    struct sl_interval of_b = sl_wilson_95(b.hits, b.of);
    double share_a = (double)a.hits / (double)a.of;
    double share_b = (double)b.hits / (double)b.of;
    double difference = share_a - share_b;
    return (struct sl_interval){.low = difference - hypot(share_a - of_a.low, of_b.high - share_b),
                                .high =
                                    difference + hypot(of_a.high - share_a, share_b - of_b.low)};
}
