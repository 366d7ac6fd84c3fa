/*
 * Comparing doubles: cmocka 1.1.5 compares floats only. Include after cmocka.h.
 */
#ifndef SL_TESTS_NEAR_H
#define SL_TESTS_NEAR_H

#include <math.h>

/* Fails unless the two differ by at most `tolerance`; NaN is near nothing. */
#define assert_near(got, wanted, tolerance)                                                        \
    near_or_fail((got), (wanted), (tolerance), #got, __FILE__, __LINE__)

static inline void near_or_fail(double got, double wanted, double tolerance, const char *what,
                                const char *file, int line)
{
    if (!(fabs(got - wanted) <= tolerance)) {
        print_error("%s is %.10g, not %.10g within %.3g\n", what, got, wanted, tolerance);
        _fail(file, line);
    }
}

#endif
