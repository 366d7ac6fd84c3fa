/*
 * Rehearsals of demo recordings while every cue leaks into the microphone at -20 dB: all that is
 * said is heard, soon enough, and the program marks the recording again as it was marked live.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "bench/rehearse.h"

static const char *const recordings[] = {"late-gear", "corrected-gear"};

static void leaking_cues_cost_no_phrase_and_the_file_gets_the_same_mark(void **state)
{
    (void)state;
    struct bench_rehearse bench;
    struct bench_runs runs = {0};
    struct sl_error error = {0};
    struct bench_condition condition = {
        .prompting = SL_PROMPTING_FULL, .leak = 0.1, .delay_s = 0.06};
    assert_int_equal(bench_rehearse_start(&bench, &error), SL_OK);
    bench.program = SL_PROGRAM;
    bench.list = stdout;
    for (size_t i = 0; i < sizeof recordings / sizeof *recordings; i++) {
        char path[512];
        (void)snprintf(path, sizeof path, "%s/audio/demo/%s.labels", SL_SOURCE_DIR, recordings[i]);
        assert_int_equal(bench_rehearse_run(&bench, path, &condition, &runs, &error), SL_OK);
    }
    struct bench_counts mark = bench_total(&runs.mark);
    assert_int_equal(mark.labelled, 10);
    assert_int_equal(mark.found, mark.labelled);
    assert_int_equal(mark.right, mark.heard);
    assert_int_equal(runs.half_duplex, 0);
    assert_int_equal(runs.differing, 0);
    /* The bars of live listening: 0.5 s at 95 %, 3 s at worst. */
    assert_true(runs.delays.count >= 8);
    assert_true(bench_delays_s(&runs.delays, 0.95) <= 0.5);
    assert_true(bench_delays_s(&runs.delays, 1) <= 3.0);
    bench_runs_clear(&runs);
    bench_rehearse_clear(&bench);
    sl_error_clear(&error);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(leaking_cues_cost_no_phrase_and_the_file_gets_the_same_mark),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
