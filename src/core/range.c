#include "core/range.h"

#include "core/str.h"

#include <math.h>
#include <stdlib.h>

/* 70 mph that went through m/s and back may come out a rounding error above 70. */
#define RELATIVE_SLACK 1e-9

static bool holds(const struct sl_range *range)
{
    double min = range->min - RELATIVE_SLACK * fabs(range->min);
    double max = range->max + RELATIVE_SLACK * fabs(range->max);
    /* Written so that NaN, for which every comparison is false, does not hold. */
    return range->value <= max && (range->above_min ? range->value > min : range->value >= min);
}

static enum sl_status refuse(const struct sl_range *range, const char *where,
                             struct sl_error *error)
{
    const char *space = range->unit[0] == '\0' ? "" : " ";
    char *mend =
        sl_strf("give %s %g and at most %g%s%s", range->above_min ? "more than" : "at least",
                range->min, range->max, space, range->unit);
    enum sl_status status = sl_fail(error, SL_INVALID, where, mend, "%s is %g%s%s", range->what,
                                    range->value, space, range->unit);
    free(mend);
    return status;
}

enum sl_status sl_ranges_check(const struct sl_range *ranges, size_t n_ranges, const char *where,
                               struct sl_error *error)
{
    for (size_t i = 0; i < n_ranges; i++) {
        if (!holds(&ranges[i])) {
            return refuse(&ranges[i], where, error);
        }
    }
    return SL_OK;
}
