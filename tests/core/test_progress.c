/* Courses written as letters, a run each, oldest first: c clean, m the signal was missed, l the
 * gear was late, u the signal was unclear. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/progress.h"
#include "support/near.h"

enum { SIGNAL, GEAR, PHASES };

static struct sl_progress_run run_of(char letter)
{
    struct sl_progress_run run = {.prompting = SL_PROMPTING_COUNT, .rolling_s = NAN};
    run.steps[SIGNAL].after_due_s = letter == 'm' || letter == 'u' ? NAN : 0.5;
    run.steps[GEAR].after_due_s = letter == 'l' ? 3 : -1;
    run.steps[SIGNAL].unclear = letter == 'u';
    run.steps[SIGNAL].kinds = letter == 'm'   ? 1U << SL_FAULT_MISSED
                              : letter == 'u' ? 1U << SL_FAULT_UNCLEAR
                                              : 0;
    run.steps[GEAR].kinds = letter == 'l' ? 1U << SL_FAULT_LATE : 0;
    return run;
}

static struct sl_progress progress_of(const struct sl_progress_run *runs, size_t n_runs)
{
    struct sl_progress progress;
    assert_int_equal(sl_progress_make(runs, n_runs, PHASES, &progress, NULL), SL_OK);
    return progress;
}

static struct sl_progress course(const char *letters)
{
    struct sl_progress_run runs[100];
    size_t n = strlen(letters);
    assert_true(n <= 100);
    for (size_t i = 0; i < n; i++) {
        runs[i] = run_of(letters[i]);
    }
    return progress_of(runs, n);
}

static void the_last_twenty_are_lately_and_the_others_before(void **state)
{
    (void)state;
    struct sl_progress progress = course("mmmmmccccc"
                                         "cccccccccccccccccccc");
    const struct sl_course *right = &progress.phases[SIGNAL].right;
    assert_int_equal(right->lately.of, SL_PROGRESS_LATELY);
    assert_int_equal(right->lately.hits, 20);
    assert_int_equal(right->before.of, 10);
    assert_int_equal(right->before.hits, 5);
    assert_int_equal(progress.faults[SL_FAULT_MISSED].before.hits, 5);
    assert_int_equal(progress.faults[SL_FAULT_MISSED].lately.hits, 0);
    /* 20 of 20: the other end of Newcombe's 0 of 20, 0.0000 to 0.1611. */
    assert_near(right->range.low, 1 - 0.1611, 5e-5);
    assert_true(right->range.high == 1);
}

static void a_trend_is_said_only_when_it_can_hardly_be_chance(void **state)
{
    (void)state;
    /* 10 of 10 before, 14 of 20 lately: Newcombe's interval of the difference has 0 in it... */
    struct sl_progress even = course("cccccccccc"
                                     "mmmmmmcccccccccccccc");
    assert_int_equal(even.phases[SIGNAL].right.trend, SL_TREND_SAME);
    struct sl_progress worse = course("cccccccccccccccccccc"
                                      "mmmmmmmmmmmmcccccccc");
    assert_int_equal(worse.phases[SIGNAL].right.trend, SL_TREND_WORSE);
    assert_int_equal(worse.faults[SL_FAULT_MISSED].trend, SL_TREND_WORSE);
    assert_int_equal(worse.clean.trend, SL_TREND_WORSE);
    assert_int_equal(worse.phases[GEAR].right.trend, SL_TREND_SAME);
    struct sl_progress better = course("mmmmmmmmmmmm"
                                       "cccccccccccccccccccc");
    assert_int_equal(better.phases[SIGNAL].right.trend, SL_TREND_BETTER);
    assert_int_equal(better.faults[SL_FAULT_MISSED].trend, SL_TREND_BETTER);
    struct sl_progress few = course("mmccc");
    assert_int_equal(few.phases[SIGNAL].right.trend, SL_TREND_UNKNOWN);
}

static void what_was_unclear_is_left_out(void **state)
{
    (void)state;
    struct sl_progress progress = course("uuucm");
    assert_int_equal(progress.phases[SIGNAL].right.lately.of, 2);
    assert_int_equal(progress.phases[SIGNAL].right.lately.hits, 1);
    assert_int_equal(progress.phases[GEAR].right.lately.of, 5);
    assert_int_equal(progress.clean.lately.of, 2);
    assert_int_equal(progress.faults[SL_FAULT_UNCLEAR].lately.hits, 3);
}

/* Quartiles of -1 -1 -1 3: type 7, by hand. */
static void times_have_their_middle_and_spread(void **state)
{
    (void)state;
    struct sl_progress progress = course("lccc");
    const struct sl_spread *spread = &progress.phases[GEAR].after_due_lately;
    assert_int_equal(spread->n, 4);
    assert_near(spread->median, -1, 1e-12);
    assert_near(spread->low, -1, 1e-12);
    assert_near(spread->high, 0, 1e-12);
    assert_int_equal(progress.phases[GEAR].after_due_before.n, 0);
    assert_true(isnan(progress.phases[GEAR].after_due_before.median));
    assert_int_equal(progress.rolling_lately.n, 0);
}

static void rolling_is_split_into_lately_and_before(void **state)
{
    (void)state;
    struct sl_progress_run runs[25];
    for (size_t i = 0; i < 25; i++) {
        runs[i] = run_of('c');
        runs[i].rolling_s = i < 5 ? 2 : 6;
    }
    struct sl_progress progress = progress_of(runs, 25);
    assert_near(progress.rolling_lately.median, 6, 1e-12);
    assert_near(progress.rolling_before.median, 2, 1e-12);
    assert_int_equal(progress.rolling_before.n, 5);
}

static void the_commonest_fault_lately_comes_next(void **state)
{
    (void)state;
    struct sl_progress late = course("mcllc");
    assert_int_equal(late.next.why, SL_NEXT_FAULT);
    assert_int_equal(late.next.phase, GEAR);
    assert_int_equal(late.next.fault, SL_FAULT_LATE);
    assert_int_equal(late.next.times, 2);
    struct sl_progress equal = course("mlml");
    assert_int_equal(equal.next.fault, SL_FAULT_MISSED);
    /* What was twenty runs ago is forgiven. */
    struct sl_progress old = course("mmmmm"
                                    "lccccccccccccccccccc");
    assert_int_equal(old.next.fault, SL_FAULT_LATE);
}

static void without_a_fault_the_junction_practised_least_comes_next(void **state)
{
    (void)state;
    struct sl_progress_run runs[(size_t)SL_KIND_COUNT * SL_VIEW_COUNT];
    size_t n = 0;
    for (size_t i = 0; i < (size_t)SL_KIND_COUNT * SL_VIEW_COUNT; i++) {
        runs[n] = run_of('c');
        runs[n].kind = (enum sl_kind)(i / SL_VIEW_COUNT);
        runs[n].view = (enum sl_view)(i % SL_VIEW_COUNT);
        n += runs[n].kind == SL_KIND_MINI && runs[n].view == SL_VIEW_CLOSED ? 0 : 1;
    }
    struct sl_progress progress = progress_of(runs, n);
    assert_int_equal(progress.next.why, SL_NEXT_JUNCTION);
    assert_int_equal(progress.next.kind, SL_KIND_MINI);
    assert_int_equal(progress.next.view, SL_VIEW_CLOSED);
    assert_int_equal(progress.next.times, 0);
}

static void junctions_are_counted_apart(void **state)
{
    (void)state;
    struct sl_progress_run runs[3] = {run_of('c'), run_of('m'), run_of('c')};
    runs[1].view = SL_VIEW_CLOSED;
    runs[2].driven = true;
    struct sl_progress progress = progress_of(runs, 3);
    assert_int_equal(progress.n_driven, 1);
    assert_int_equal(progress.clean_at[SL_KIND_T][SL_VIEW_OPEN].lately.hits, 2);
    assert_int_equal(progress.clean_at[SL_KIND_T][SL_VIEW_CLOSED].lately.hits, 0);
    assert_int_equal(progress.runs_at[SL_KIND_T][SL_VIEW_CLOSED], 1);
}

/* Rehearsals as pairs: a run's letter and its level, f full, p partial, n none. */
static struct sl_progress rehearsed(const char *pairs)
{
    struct sl_progress_run runs[20];
    size_t n = strlen(pairs) / 2;
    assert_true(n <= 20);
    for (size_t i = 0; i < n; i++) {
        runs[i] = run_of(pairs[2 * i]);
        runs[i].prompting = pairs[2 * i + 1] == 'f'   ? SL_PROMPTING_FULL
                            : pairs[2 * i + 1] == 'p' ? SL_PROMPTING_PARTIAL
                                                      : SL_PROMPTING_NONE;
    }
    return progress_of(runs, n);
}

static void a_level_is_dropped_after_clean_runs_in_a_row_at_it(void **state)
{
    (void)state;
    static const struct {
        const char *name, *pairs;
        enum sl_ready ready;
        unsigned more;
    } rows[] = {
        {"nothing rehearsed", "", SL_READY_NONE, 0},
        {"one is not enough", "cf", SL_READY_STAY, 1},
        {"two are", "cfcf", SL_READY_DROP, 0},
        {"a fault between", "cfmfcf", SL_READY_STAY, 1},
        {"clean at another level does not count", "cfcp", SL_READY_STAY, 1},
        {"a fault brings prompts back", "cpmp", SL_READY_BACK, 0},
        {"but not above full", "cfmf", SL_READY_STAY, 2},
        {"two late ones bring them back", "lplp", SL_READY_BACK, 0},
        {"nothing to drop", "cncn", SL_READY_ALREADY, 0},
        {"an unclear one tells nothing", "cfufcf", SL_READY_DROP, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_progress progress = rehearsed(rows[i].pairs);
        if (progress.ready != rows[i].ready || progress.clean_more != rows[i].more) {
            fail_msg("%s: %s, %u more", rows[i].name, sl_ready_word(progress.ready),
                     progress.clean_more);
        }
    }
    assert_int_equal(rehearsed("cfcp").level, SL_PROMPTING_PARTIAL);
    assert_int_equal(rehearsed("").level, SL_PROMPTING_COUNT);
}

static void words_are_those_of_the_json(void **state)
{
    (void)state;
    assert_string_equal(sl_trend_word(SL_TREND_UNKNOWN), "too-few");
    assert_string_equal(sl_trend_word(SL_TREND_WORSE), "worse");
    assert_string_equal(sl_ready_word(SL_READY_ALREADY), "already-none");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_last_twenty_are_lately_and_the_others_before),
        cmocka_unit_test(a_trend_is_said_only_when_it_can_hardly_be_chance),
        cmocka_unit_test(what_was_unclear_is_left_out),
        cmocka_unit_test(times_have_their_middle_and_spread),
        cmocka_unit_test(rolling_is_split_into_lately_and_before),
        cmocka_unit_test(the_commonest_fault_lately_comes_next),
        cmocka_unit_test(without_a_fault_the_junction_practised_least_comes_next),
        cmocka_unit_test(junctions_are_counted_apart),
        cmocka_unit_test(a_level_is_dropped_after_clean_runs_in_a_row_at_it),
        cmocka_unit_test(words_are_those_of_the_json),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
