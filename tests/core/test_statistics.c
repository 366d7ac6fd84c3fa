#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "core/statistics.h"
#include "support/near.h"

/* SciPy's documentation of stats.kendalltau: tau -0.47140452079103173. */
static void tau_b_with_ties_equals_scipys(void **state)
{
    (void)state;
    const double x[] = {12, 2, 1, 12, 2};
    const double y[] = {1, 4, 7, 1, 0};
    struct sl_kendall got = sl_kendall(x, y, 5);
    assert_true(fabs(got.tau_b - -0.47140452079103173) < 1e-15);
    /* By hand: of the ten pairs one is tied in both, one in x only. */
    assert_int_equal(got.concordant, 2);
    assert_int_equal(got.discordant, 6);
    assert_int_equal(got.tied_x, 1);
    assert_int_equal(got.tied_y, 0);
}

/* Hollander and Wolfe 1973, p. 187, as in R's cor.test: tau 0.4444444, C 26, D 10. */
static void tau_of_hollander_and_wolfe_comes_out(void **state)
{
    (void)state;
    const double x[] = {44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1};
    const double y[] = {2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8};
    struct sl_kendall got = sl_kendall(x, y, 9);
    assert_int_equal(got.concordant, 26);
    assert_int_equal(got.discordant, 10);
    assert_true(fabs(got.tau_b - 4.0 / 9) < 1e-12);
}

static void tau_is_one_in_order_and_minus_one_reversed(void **state)
{
    (void)state;
    const double x[] = {1, 2, 3, 4};
    const double up[] = {10, 20, 30, 40};
    const double down[] = {4, 3, 2, 1};
    assert_near(sl_kendall(x, up, 4).tau_b, 1, 1e-12);
    assert_near(sl_kendall(x, down, 4).tau_b, -1, 1e-12);
}

static void tau_has_no_value_without_an_order(void **state)
{
    (void)state;
    const double x[] = {1, 2, 3};
    const double flat[] = {5, 5, 5};
    assert_true(isnan(sl_kendall(x, x, 0).tau_b));
    assert_true(isnan(sl_kendall(x, x, 1).tau_b));
    assert_true(isnan(sl_kendall(x, flat, 3).tau_b));
    assert_true(isnan(sl_kendall(flat, x, 3).tau_b));
    assert_int_equal(sl_kendall(x, flat, 3).tied_y, 3);
}

/* Type 7 of Hyndman and Fan (The American Statistician 50, 1996), R's default: worked by hand. */
static void quantiles_interpolate_between_neighbours(void **state)
{
    (void)state;
    static const struct {
        double q, want;
    } rows[] = {{0, 1},       {0.25, 2.5}, {0.5, 4}, {0.75, 6.25},
                {0.95, 9.25}, {1, 10},     {-1, 1},  {2, 10}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double values[] = {10, 1, 5, 3};
        assert_near(sl_quantile(values, 4, rows[i].q), rows[i].want, 1e-12);
        assert_near(values[0], 1, 0); /* sorted in place */
        assert_near(values[3], 10, 0);
    }
    double one = 7;
    assert_near(sl_quantile(&one, 1, 0.3), 7, 0);
    assert_true(isnan(sl_quantile(&one, 0, 0.5)));
}

/* Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17
 * (1998), 857-872, table I, method 3 (score); the table from memory, and to six decimals as SciPy
 * 1.10.1 gives them: stats.binomtest(hits, of).proportion_ci(0.95, method='wilson'). */
static void wilson_intervals_are_newcombes(void **state)
{
    (void)state;
    static const struct {
        size_t hits, of;
        double low, high;
    } rows[] = {{81, 263, 0.255289, 0.366210},
                {15, 148, 0.062386, 0.160487},
                {0, 20, 0.000000, 0.161125},
                {1, 29, 0.006113, 0.171755}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_interval got = sl_wilson_95(rows[i].hits, rows[i].of);
        assert_near(got.low, rows[i].low, 5e-7);
        assert_near(got.high, rows[i].high, 5e-7);
        struct sl_interval misses = sl_wilson_95(rows[i].of - rows[i].hits, rows[i].of);
        assert_near(misses.low, 1 - got.high, 1e-12);
        assert_near(misses.high, 1 - got.low, 1e-12);
    }
    assert_true(isnan(sl_wilson_95(0, 0).low) && isnan(sl_wilson_95(0, 0).high));
    assert_true(sl_wilson_95(7, 7).high == 1);
}

/* Newcombe, Interval estimation for the difference between independent proportions, Statistics in
 * Medicine 17 (1998), 873-890, table II, method 10; the table from memory, and the same by the
 * paper's formula from the intervals of SciPy 1.10.1, as above. */
static void differences_of_shares_are_newcombes(void **state)
{
    (void)state;
    static const struct {
        struct sl_share a, b;
        double low, high;
    } rows[] = {{{56, 70}, {48, 80}, 0.0524, 0.3339}, {{9, 10}, {3, 10}, 0.1705, 0.8090},
                {{6, 7}, {2, 7}, 0.0582, 0.8062},     {{5, 56}, {0, 29}, -0.0381, 0.1926},
                {{0, 10}, {0, 20}, -0.1611, 0.2775},  {{10, 10}, {0, 10}, 0.6075, 1.0000}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_interval got = sl_difference_95(rows[i].a, rows[i].b);
        assert_near(got.low, rows[i].low, 5e-5);
        assert_near(got.high, rows[i].high, 5e-5);
        struct sl_interval back = sl_difference_95(rows[i].b, rows[i].a);
        assert_near(back.low, -got.high, 1e-12);
    }
    assert_true(isnan(sl_difference_95((struct sl_share){1, 2}, (struct sl_share){0, 0}).low));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wilson_intervals_are_newcombes),
        cmocka_unit_test(differences_of_shares_are_newcombes),
        cmocka_unit_test(tau_b_with_ties_equals_scipys),
        cmocka_unit_test(tau_of_hollander_and_wolfe_comes_out),
        cmocka_unit_test(tau_is_one_in_order_and_minus_one_reversed),
        cmocka_unit_test(tau_has_no_value_without_an_order),
        cmocka_unit_test(quantiles_interpolate_between_neighbours),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
