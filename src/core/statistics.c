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
