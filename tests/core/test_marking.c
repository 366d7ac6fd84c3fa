#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/fault_rows.h"
#include "support/near.h"

static const struct row missing[] = {
    {"a clean run", true, T_LEFT, CLEAN, ""},
    {"a clean run, untimed", false, T_LEFT, CLEAN, ""},
    {"fillers and words of correction alone change nothing", true, T_LEFT,
     "um @1; mirrors interior left @4; um; signal left @8; no @10; speed 10 @12; gear 2 up "
     "@16; "
     "um @20; decide go @24; no @26",
     ""},
    {"nothing heard", true, T_LEFT, "",
     "mirrors missed, signal missed, speed missed, gear missed, decide missed"},
    {"only fillers", false, T_LEFT, "um @1; um @5; no @6",
     "mirrors missed, signal missed, speed missed, gear missed, decide missed"},
    {"mirrors missed", true, T_LEFT, "signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors missed"},
    {"the last missed", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16", "decide missed"},
    {"two missed", true, T_LEFT, "mirrors interior left @4; speed 10 @12; decide go @24",
     "signal missed, gear missed"},
    {"one unclear", true, T_LEFT,
     "mirrors interior left @4; ?signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "signal unclear"},
    {"unclear out of its place is unclear, not out of order", true, T_LEFT,
     "mirrors interior left @4; signal left @8; ?decide go @10; speed 10 @12; gear 2 up @16",
     "decide unclear"},
    {"unclear twice is one fault", true, T_LEFT,
     "mirrors interior left @4; ?signal left @8; ?signal right @9; speed 10 @12; gear 2 up "
     "@16; "
     "decide go @24",
     "signal unclear"},
    {"unclear beside clear is ignored", true, T_LEFT, "?gear 1 down @2; " CLEAN, ""},
    {"unclear settings never overrule clear ones", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; ?gear 1 down @18; "
     "decide go @24",
     ""},
    {"unclear after a clear wrong one does not mend it", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 1 up @16; no @17.1; "
     "?gear 2 @18; decide go @24",
     "gear wrong-setting"},
    {"everything unclear", false, T_LEFT,
     "?mirrors; ?signal left; ?speed 10; ?gear 2 up; ?decide go",
     "mirrors unclear, signal unclear, speed unclear, gear unclear, decide unclear"},
    {"ahead: no signal need be mentioned", true, AHEAD,
     "mirrors interior @4; speed 10 @12; gear 2 up @16; decide go @24", ""},
    {"ahead: a signal unclear is no fault either", true, AHEAD,
     "mirrors interior @4; ?signal none @8; speed 10 @12; gear 2 up @16; decide go @24", ""},
    {"ahead: saying no signal is right", true, AHEAD,
     "mirrors interior @4; signal none @8; speed 10 @12; gear 2 up @16; decide go @24", ""},
    {"ahead: a signal is wrong", true, AHEAD,
     "mirrors interior @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "signal wrong-setting"},
    {"a signal that would mislead must be mentioned", true, LEFT_MISLEADS,
     "mirrors interior left @4; speed 10 @12; gear 2 up @16; decide go @24", "signal missed"},
    {"a signal that would mislead ahead must be mentioned, too", true, AHEAD_MISLEADS,
     "mirrors interior @4; speed 10 @12; gear 2 up @16; decide go @24", "signal missed"},
};

static void steps_missed_or_unclear_are_told_apart(void **state)
{
    (void)state;
    CHECK_ROWS(missing);
}

#define SO_FAR "mirrors interior left @4; signal left @8; "
static const struct row named[] = {
    {"wrong side", true, T_LEFT,
     "mirrors interior left @4; signal right @8; speed 10 @12; gear 2 up @16; decide go @24",
     "signal wrong-setting"},
    {"a signal that misleads", true, LEFT_MISLEADS, CLEAN, "signal wrong-setting"},
    {"gear", true, T_LEFT, SO_FAR "speed 10 @12; gear 1 up @16; decide go @24",
     "gear wrong-setting"},
    {"gear and clutch wrong are one fault", true, T_LEFT,
     SO_FAR "speed 10 @12; gear 1 down @16; decide go @24", "gear wrong-setting"},
    {"clutch alone", true, T_LEFT, SO_FAR "speed 10 @12; gear 2 down @16; decide go @24",
     "gear wrong-setting"},
    {"unsaid clutch is no fault", true, T_LEFT, SO_FAR "speed 10 @12; gear 2 @16; decide go @24",
     ""},
    {"speed at the lower end", true, T_LEFT, SO_FAR "speed 8 @12; gear 2 up @16; decide go @24",
     ""},
    {"speed at the upper end", true, T_LEFT, SO_FAR "speed 12 @12; gear 2 up @16; decide go @24",
     ""},
    {"speed below by less than anybody says", true, T_LEFT,
     SO_FAR "speed 7.9999 @12; gear 2 up @16; decide go @24", ""},
    {"speed above", true, T_LEFT, SO_FAR "speed 12.1 @12; gear 2 up @16; decide go @24",
     "speed wrong-setting"},
    {"speed below", true, T_LEFT, SO_FAR "speed 7.9 @12; gear 2 up @16; decide go @24",
     "speed wrong-setting"},
    {"no speed named", true, T_LEFT, SO_FAR "speed @12; gear 2 up @16; decide go @24", ""},
    {"closed wants its own", true, CLOSED, CLEAN, "speed wrong-setting, gear wrong-setting"},
    {"closed settings where it is closed", true, CLOSED,
     SO_FAR "speed 4 @12; gear 1 down @16; decide wait @24", ""},
    {"a stop line means waiting", true, STOP_LINE,
     SO_FAR "speed 4 @12; gear 1 down @16; decide go @24", "decide wrong-setting"},
    {"waiting, then going is right at a stop line", true, STOP_LINE,
     SO_FAR "speed 4 @12; gear 1 down @16; decide wait @23; decide go @25", ""},
    {"going at a stop line before anything is seen", true, STOP_LINE,
     SO_FAR "speed 4 @12; gear 1 down @16; decide wait @20; decide go @21",
     "decide early look-first"},
    {"waiting, then going is right where going is wanted", true, CLEAR,
     SO_FAR "speed 10 @12; gear 2 up @16; decide wait @23; decide go @25", ""},
    {"waiting is right where nothing is wanted", true, T_LEFT,
     SO_FAR "speed 10 @12; gear 2 up @16; decide wait @24", ""},
    {"busy: go is wrong", true, BUSY, CLEAN, "decide wrong-setting"},
    {"clear: waiting is wrong", true, CLEAR, SO_FAR "speed 10 @12; gear 2 up @16; decide wait @24",
     "decide wrong-setting"},
    {"a wanted mirror lacking", true, T_LEFT,
     "mirrors left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors wrong-setting"},
    {"the other door mirror", true, T_LEFT,
     "mirrors interior right @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors wrong-setting"},
    {"a mirror more is fine", true, T_LEFT,
     "mirrors interior left right @4; signal left @8; speed 10 @12; gear 2 up @16; decide go "
     "@24",
     ""},
    {"a mirror more between is fine", true, T_LEFT,
     "mirrors interior right left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go "
     "@24",
     ""},
    {"generic mirrors are no fault", true, T_LEFT,
     "mirrors @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24", ""},
    {"mirrors in two phrases are joined", true, T_LEFT,
     "mirrors interior @4-5; um; mirrors left @5.5; signal left @8; speed 10 @12; gear 2 up "
     "@16; decide go @24",
     ""},
    {"gear and clutch in two phrases are joined", true, T_LEFT,
     SO_FAR "speed 10 @12; gear 2 @16; um; gear up @18; decide go @24", ""},
    {"door mirror first breaks the mirror order", true, T_LEFT,
     "mirrors left interior @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors out-of-order interior-first"},
};

static void settings_are_held_against_the_junction(void **state)
{
    (void)state;
    CHECK_ROWS(named);
}

static const struct row clocked[] = {
    {"at the very ends of the windows", true, T_LEFT,
     "mirrors interior left @2; signal left @10; speed 10 @10.5; gear 2 up @18; decide go @22", ""},
    {"mirrors early", true, T_LEFT,
     "mirrors interior left @1.9; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors early"},
    {"mirrors late", true, T_LEFT,
     "mirrors interior left @6.1; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors late"},
    {"times count for nothing untimed", false, T_LEFT,
     "mirrors interior left @30; signal left @31.5; speed 10 @33; gear 2 up @35; decide go @36",
     ""},
    {"everything late but for the rule on rolling", true, T_LEFT,
     "mirrors interior left @7; signal left @11; speed 10 @15; gear 2 up @19-20; decide go "
     "@26.5",
     "mirrors late, signal late, speed late, gear late, decide late"},
    {"too little rolling left takes the place of late", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22.1-22.6; decide go "
     "@24",
     "gear late rolling"},
    {"too little rolling left though the step began in time", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 @17-18; gear up @21-23.1; "
     "decide go @24",
     "gear late rolling"},
    {"just enough rolling left", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 @17-18; gear up @21-23; "
     "decide go @24",
     ""},
    {"just enough rolling left after a late change", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22-22.5; decide go "
     "@24",
     "gear late"},
    {"go before the road can be seen", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @21",
     "decide early look-first"},
    {"go said again in time does not mend it", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @20; decide "
     "go @23",
     "decide early look-first"},
    {"waiting before the road can be seen is merely early", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide wait @21",
     "decide early"},
    {"go as soon as the rule allows", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @22", ""},
};

static void times_are_held_against_the_windows(void **state)
{
    (void)state;
    CHECK_ROWS(clocked);
}

static void phrases_of_no_phase_of_the_routine_are_passed_over(void **state)
{
    (void)state;
    struct run run = mark("cornering 5 @1; " CLEAN, true, T_LEFT);
    assert_int_equal(run.mark.n_faults, 0);
    end_run(&run);
}

/* The announcement ends at 2 s; a phrase of the script lasts a second. */
static void words_of_the_announcement_that_run_over_its_end_are_passed_over(void **state)
{
    (void)state;
    const char *rest = "mirrors interior left @6; signal left @10; speed 10 @14; gear 2 up @18; "
                       "decide go @26";
    char *mostly_before = sl_strf("gear 4 @1.4; %s", rest);
    char *mostly_after = sl_strf("gear 4 @1.6; %s", rest);
    struct run before = mark_from(mostly_before, true, T_LEFT, 2);
    struct run after = mark_from(mostly_after, true, T_LEFT, 2);
    assert_int_equal(before.mark.n_faults, 0);
    assert_int_equal(after.mark.n_faults, 1);
    end_run(&before);
    end_run(&after);
    free(mostly_before);
    free(mostly_after);
}

static void marking_again_releases_the_earlier_mark(void **state)
{
    (void)state;
    struct run run = mark("signal left", false, T_LEFT);
    struct sl_heard_list heard = script_heard(&run.routine, CLEAN);
    const struct sl_mark_options options = {.timed = true};
    assert_int_equal(remark(&run, &heard, &options, NULL), SL_OK);
    assert_int_equal(run.mark.n_faults, 0);
    sl_heard_clear(&heard);
    sl_mark_clear(NULL);
    end_run(&run);
}

static void more_steps_than_can_be_aligned_are_refused(void **state)
{
    (void)state;
    struct run run = mark("signal left", false, T_LEFT);
    struct sl_heard_list heard = {0};
    for (size_t i = 0; i < 10002; i++) {
        struct sl_heard item = {
            .phase = i % 2, .start_s = (double)i, .end_s = (double)i + 0.5, .text = NULL};
        assert_int_equal(sl_heard_add(&heard, &item, NULL), SL_OK);
    }
    const struct sl_mark_options options = {0};
    struct sl_error error = {0};
    assert_int_equal(remark(&run, &heard, &options, &error), SL_TOO_LARGE);
    assert_non_null(error.what);
    assert_int_equal(run.mark.n_faults, 4); /* still the earlier mark */
    sl_error_clear(&error);
    sl_heard_clear(&heard);
    end_run(&run);
}

static void poor_sound_is_named_with_its_mend(void **state)
{
    (void)state;
    static const struct {
        unsigned hiding;
        const char *what;
        const char *next;
    } rows[] = {
        {SL_NOTICE_NOISY | SL_NOTICE_QUIET, "too much noise", "find a quieter place"},
        {SL_NOTICE_CLIPPED, "too loud for the microphone", "turn the microphone down"},
        {SL_NOTICE_QUIET, "the voice is too quiet", "come closer to the microphone"},
        {SL_NOTICE_DAMAGED, "the sound is too damaged", "record it anew"},
    };
    struct run run = mark("um", false, T_LEFT);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct sl_mark_options poor = {.hiding = rows[i].hiding};
        struct sl_heard_list nothing = {0};
        assert_int_equal(remark(&run, &nothing, &poor, NULL), SL_OK);
        assert_int_equal(run.mark.n_faults, 5);
        assert_int_equal(fault_at(&run, 0)->kind, SL_FAULT_UNCLEAR);
        assert_non_null(strstr(fault_at(&run, 0)->what, rows[i].what));
        assert_non_null(strstr(run.mark.next, rows[i].next));
        assert_float_equal(run.mark.scores.completeness, 0, 1e-9);
    }
    end_run(&run);
}

static void noise_makes_unclear_of_what_was_not_heard_or_would_be_a_fault(void **state)
{
    (void)state;
    struct run run = mark("mirrors interior left; signal left; speed 10; gear 1 up", false, T_LEFT);
    const struct sl_mark_options noisy = {.hiding = SL_NOTICE_NOISY};
    struct sl_heard_list heard =
        script_heard(&run.routine, "mirrors interior left; signal left; speed 10; gear 1 up");
    assert_int_equal(remark(&run, &heard, &noisy, NULL), SL_OK);
    char *faults = script_faults(&run.routine, &run.mark);
    assert_string_equal(faults, "gear unclear, decide unclear");
    assert_true(run.mark.phases[4].unclear);
    assert_true(isnan(fault_at(&run, 1)->at_s));
    assert_non_null(strstr(fault_at(&run, 1)->what, "too much noise"));
    assert_float_equal(run.mark.scores.completeness, 80, 1e-9); /* as unclear, not as missed */
    free(faults);
    sl_heard_clear(&heard);
    assert_int_equal(remark(&run, &heard, &noisy, NULL), SL_OK);
    assert_non_null(strstr(run.mark.next, "find a quieter place"));
    end_run(&run);
}

/* Marks three steps, one a second and a half, and something between them that was not understood.
 */
static char *faults_with_something_at(double start_s)
{
    struct run run = mark("um", false, T_LEFT);
    struct sl_heard_list heard =
        script_heard(&run.routine, "mirrors interior left; speed 10; decide go");
    char nothing[] = "";
    const struct sl_heard lost = {.phase = SL_PHRASE_FILLER,
                                  .text = nothing,
                                  .start_s = start_s,
                                  .end_s = start_s + 0.4,
                                  .unclear = true};
    assert_int_equal(sl_heard_add(&heard, &lost, NULL), SL_OK);
    const struct sl_mark_options options = {0};
    assert_int_equal(remark(&run, &heard, &options, NULL), SL_OK);
    char *faults = script_faults(&run.routine, &run.mark);
    sl_heard_clear(&heard);
    end_run(&run);
    return faults;
}

static void what_was_not_understood_hides_the_steps_that_belong_there(void **state)
{
    (void)state;
    static const struct {
        double start_s;
        const char *faults;
    } rows[] = {
        {1.1, "signal unclear, gear missed"},
        {2.6, "signal missed, gear unclear"},
        {4.2, "signal missed, gear missed"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *faults = faults_with_something_at(rows[i].start_s);
        assert_string_equal(faults, rows[i].faults);
        free(faults);
    }
}

/* The line is at 28 s; a gear begun at 16 s and named in a second is done at 17 s. */
static void the_rolling_that_was_kept_is_told(void **state)
{
    (void)state;
    struct run clean = mark(CLEAN, true, T_LEFT);
    assert_near(clean.mark.rolling_s, 11, 1e-9);
    end_run(&clean);
    struct run untimed = mark(CLEAN, false, T_LEFT);
    assert_true(isnan(untimed.mark.rolling_s));
    end_run(&untimed);
    struct run missed = mark("mirrors interior left @4; decide go @24", true, T_LEFT);
    assert_true(isnan(missed.mark.rolling_s));
    end_run(&missed);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_rolling_that_was_kept_is_told),
        cmocka_unit_test(what_was_not_understood_hides_the_steps_that_belong_there),
        cmocka_unit_test(steps_missed_or_unclear_are_told_apart),
        cmocka_unit_test(settings_are_held_against_the_junction),
        cmocka_unit_test(times_are_held_against_the_windows),
        cmocka_unit_test(phrases_of_no_phase_of_the_routine_are_passed_over),
        cmocka_unit_test(words_of_the_announcement_that_run_over_its_end_are_passed_over),
        cmocka_unit_test(marking_again_releases_the_earlier_mark),
        cmocka_unit_test(more_steps_than_can_be_aligned_are_refused),
        cmocka_unit_test(poor_sound_is_named_with_its_mend),
        cmocka_unit_test(noise_makes_unclear_of_what_was_not_heard_or_would_be_a_fault),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
