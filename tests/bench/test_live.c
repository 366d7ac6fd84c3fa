/*
 * Live listening on the demo recordings: soon enough and about as well as the recogniser. Times are
 * counted in samples fed, so that the load of the machine has no part in it.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "bench/live.h"

#include <math.h>

static const char *const recordings[] = {
    "clean-t-left-open", "corrected-gear", "mirrors-twice", "gear-before-speed", "car-noise-20-db",
};

static void phrases_settle_within_half_a_second_of_their_end(void **state)
{
    (void)state;
    struct bench_live bench;
    struct sl_error error = {0};
    assert_int_equal(bench_live_start(&bench, "decide-last", false, &error), SL_OK);
    for (size_t i = 0; i < sizeof recordings / sizeof *recordings; i++) {
        char path[512];
        (void)snprintf(path, sizeof path, "%s/audio/demo/%s.labels", SL_SOURCE_DIR, recordings[i]);
        assert_int_equal(bench_live_hear(&bench, path, &error), SL_OK);
    }
    struct bench_counts live = bench_total(&bench.live);
    struct bench_counts whole = bench_total(&bench.whole);
    double usual_s = bench_delays_s(&bench.delays, 0.95);
    double worst_s = bench_delays_s(&bench.delays, 1);
    print_message(
        "live: F1 %.3f against %.3f of the whole pass; %.0f ms (95 %%), %.0f ms (worst)\n",
        bench_f1(&live), bench_f1(&whole), 1000 * usual_s, 1000 * worst_s);
    assert_true(bench.delays.count >= 20);
    /* The bars: 0.5 s at 95 %, 3 s at worst. */
    assert_true(usual_s <= 0.5);
    assert_true(worst_s <= 3.0);
    assert_true(bench.delays.foreknown_s <= 0); /* nothing is known before it is said */
    assert_true(bench_f1(&live) >= bench_f1(&whole) - 0.08);
    bench_live_clear(&bench);
    sl_error_clear(&error);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(phrases_settle_within_half_a_second_of_their_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
