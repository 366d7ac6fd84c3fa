/*
 * A number with the range that it must keep, and the error for one that does not: every check of
 * input says the value and the mend in the same words.
 */
#ifndef SL_CORE_RANGE_H
#define SL_CORE_RANGE_H

#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

struct sl_range {
    const char *what; /* "the approach speed" */
    const char *unit; /* "mph"; "" where there is none */
    double value;     /* in that unit */
    double min, max;  /* both allowed, unless: */
    bool above_min;   /* `min` itself is not allowed */
};

/*
 * SL_OK when every value is finite and in its range; otherwise SL_INVALID for the first that is
 * not, with its value and the range as the mend. `where` as in struct sl_error; may be NULL.
 */
enum sl_status sl_ranges_check(const struct sl_range *ranges, size_t n_ranges, const char *where,
                               struct sl_error *error);

#endif
