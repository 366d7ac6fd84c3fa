#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/near.h"
#include "support/marked_run.h"

struct row {
    const char *name;
    bool timed;
    enum where where;
    const char *script;
    const char *faults;
};

static void check_rows(const struct row *rows, size_t n_rows)
{
    for (size_t i = 0; i < n_rows; i++) {
        struct run run = mark(rows[i].script, rows[i].timed, rows[i].where);
        char *faults = script_faults(&run.routine, &run.mark);
        if (strcmp(faults, rows[i].faults) != 0) {
            print_error("%s\n  wanted: %s\n  marked: %s\n", rows[i].name, rows[i].faults, faults);
        }
        assert_string_equal(faults, rows[i].faults);
        free(faults);
        end_run(&run);
    }
}

#define CHECK_ROWS(rows) check_rows(rows, sizeof(rows) / sizeof *(rows))

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

static const struct row disordered[] = {
    {"signal before mirrors", false, T_LEFT,
     "signal left; mirrors interior left; speed 10; gear 2 up; decide go",
     "signal out-of-order signal-after-mirrors"},
    {"speed before signal breaks no rule: the one that jumped ahead", false, T_LEFT,
     "mirrors interior left; speed 10; signal left; gear 2 up; decide go", "speed out-of-order"},
    {"gear before speed", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up; speed 10; decide go",
     "gear out-of-order gear-after-speed"},
    {"decide before gear", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; decide go; gear 2 up",
     "decide out-of-order decide-after-gear"},
    {"decide first of all", false, T_LEFT,
     "decide go; mirrors interior left; signal left; speed 10; gear 2 up",
     "decide out-of-order decide-after-gear"},
    {"mirrors last of all", false, T_LEFT,
     "signal left; speed 10; gear 2 up; decide go; mirrors interior left",
     "mirrors out-of-order signal-after-mirrors"},
    {"speed after the decision", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up; decide go; speed 10",
     "speed out-of-order gear-after-speed"},
    {"two swaps are two faults", false, T_LEFT,
     "signal left; mirrors interior left; gear 2 up; speed 10; decide go",
     "signal out-of-order signal-after-mirrors, gear out-of-order gear-after-speed"},
    {"three turned round", false, T_LEFT,
     "mirrors interior left; signal left; decide go; gear 2 up; speed 10",
     "gear out-of-order gear-after-speed, decide out-of-order decide-after-gear"},
    {"everything turned round", false, T_LEFT,
     "decide go; gear 2 up; speed 10; signal left; mirrors interior left",
     "signal out-of-order signal-after-mirrors, speed out-of-order, "
     "gear out-of-order gear-after-speed, decide out-of-order decide-after-gear"},
    {"of two that jumped ahead, the one that breaks a rule", false, T_LEFT,
     "signal left; gear 2 up; speed 10; mirrors interior left; decide go",
     "mirrors out-of-order signal-after-mirrors, gear out-of-order gear-after-speed"},
    {"said too soon and again too late", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up; speed 10; decide go; gear 2 up",
     "gear out-of-order gear-after-speed, gear extra"},
    {"a rule about a phase that was not heard is not broken", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up; decide go", "speed missed"},
    {"a step out of order is not also early or late", true, T_LEFT,
     "mirrors interior left @4; signal left @8; gear 2 up @11; speed 10 @16; decide go @24",
     "speed late, gear out-of-order gear-after-speed"},
    {"out of order and wrong are two causes", false, T_LEFT,
     "mirrors interior left; signal left; gear 1 up; speed 10; decide go",
     "gear out-of-order gear-after-speed, gear wrong-setting"},
    {"with one missed", false, T_LEFT, "signal left; mirrors interior left; gear 2 up; decide go",
     "signal out-of-order signal-after-mirrors, speed missed"},
};

static void steps_out_of_order_are_the_smallest_set_of_moved_ones(void **state)
{
    (void)state;
    CHECK_ROWS(disordered);
}

static const struct row repeated[] = {
    {"the same twice running is a repeat", false, T_LEFT,
     "mirrors interior left; signal left; signal left; speed 10; gear 2 up; gear 2; decide go", ""},
    {"again after another step", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; signal left; gear 2 up; decide go",
     "signal extra"},
    {"again with another setting is still extra", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; signal right; gear 2 up; decide go",
     "signal extra"},
    {"twice extra", false, T_LEFT,
     "mirrors interior left; signal left; mirrors interior left; speed 10; mirrors interior "
     "left; gear 2 up; decide go",
     "mirrors extra, mirrors extra"},
    {"said too soon, then in its place: the one in its place counts", false, T_LEFT,
     "gear 1; mirrors interior left; signal left; speed 10; gear 2 up; decide go", "gear extra"},
    {"out of order twice: one moved, one extra", false, T_LEFT,
     "decide go; mirrors interior left; decide go; signal left; speed 10; gear 2 up",
     "decide out-of-order decide-after-gear, decide extra"},
    {"the timely one counts", true, T_LEFT,
     "mirrors interior @1; um; signal left @8; speed 10 @12; gear 2 up @16; decide go @18; "
     "mirrors left @20; decide go @24",
     "mirrors wrong-setting, mirrors early, mirrors extra, decide extra"},
};

static void steps_said_again_are_extra(void **state)
{
    (void)state;
    CHECK_ROWS(repeated);
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

/* A routine whose rule goes against its own order: the rule still gets its fault, once. */
static void a_rule_against_the_order_still_gets_its_fault(void **state)
{
    (void)state;
    struct run run = {
        .routine = fixture_routine(), .junction = fixture_junction(), .plan = fixture_plan()};
    run.routine.rules[0].phase = MIRRORS;
    run.routine.rules[0].other = SIGNAL;
    struct sl_heard_list heard = script_heard(&run.routine, CLEAN);
    const struct sl_mark_options options = {.timed = true};
    assert_int_equal(
        sl_mark_make(&run.routine, &run.junction, &run.plan, &heard, &options, &run.mark, NULL),
        SL_OK);
    char *faults = script_faults(&run.routine, &run.mark);
    assert_string_equal(faults, "mirrors out-of-order signal-after-mirrors");
    assert_near(run.mark.scores.order, 100.0 * 10 / 11, 1e-4);
    free(faults);
    sl_heard_clear(&heard);
    end_run(&run);
}

/* Rule-less: of two that jumped ahead of the mirrors the gear jumped ahead of the speed as well. */
static void the_step_that_jumped_furthest_is_blamed(void **state)
{
    (void)state;
    struct run run = {
        .routine = fixture_routine(), .junction = fixture_junction(), .plan = fixture_plan()};
    struct sl_heard_list heard = script_heard(
        &run.routine, "signal left; gear 2; speed 10; mirrors left interior; decide go");
    const struct sl_mark_options options = {0};
    struct sl_routine ruleless = run.routine;
    ruleless.n_rules = 0;
    assert_int_equal(
        sl_mark_make(&ruleless, &run.junction, &run.plan, &heard, &options, &run.mark, NULL),
        SL_OK);
    char *faults = script_faults(&run.routine, &run.mark);
    assert_string_equal(faults, "mirrors out-of-order, gear out-of-order");
    free(faults);
    sl_heard_clear(&heard);
    end_run(&run);
}

static void the_timely_one_of_two_moved_steps_stands_for_its_phase(void **state)
{
    (void)state;
    struct run run = mark("signal left @1; speed 10 @3; signal left @7; mirrors interior left @9; "
                          "speed 10 @12; gear 2 up @16; decide go @24",
                          true, T_LEFT);
    char *faults = script_faults(&run.routine, &run.mark);
    assert_string_equal(faults, "mirrors late, signal out-of-order signal-after-mirrors, signal "
                                "extra, speed extra");
    assert_near(run.mark.phases[SIGNAL].at_s, 7, 0);
    free(faults);
    end_run(&run);
}

static void marking_again_releases_the_earlier_mark(void **state)
{
    (void)state;
    struct run run = mark("signal left", false, T_LEFT);
    struct sl_heard_list heard = script_heard(&run.routine, CLEAN);
    const struct sl_mark_options options = {.timed = true};
    assert_int_equal(
        sl_mark_make(&run.routine, &run.junction, &run.plan, &heard, &options, &run.mark, NULL),
        SL_OK);
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
    assert_int_equal(
        sl_mark_make(&run.routine, &run.junction, &run.plan, &heard, &options, &run.mark, &error),
        SL_TOO_LARGE);
    assert_non_null(error.what);
    assert_int_equal(run.mark.n_faults, 4); /* still the earlier mark */
    sl_error_clear(&error);
    sl_heard_clear(&heard);
    end_run(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steps_missed_or_unclear_are_told_apart),
        cmocka_unit_test(steps_out_of_order_are_the_smallest_set_of_moved_ones),
        cmocka_unit_test(steps_said_again_are_extra),
        cmocka_unit_test(settings_are_held_against_the_junction),
        cmocka_unit_test(times_are_held_against_the_windows),
        cmocka_unit_test(phrases_of_no_phase_of_the_routine_are_passed_over),
        cmocka_unit_test(a_rule_against_the_order_still_gets_its_fault),
        cmocka_unit_test(the_step_that_jumped_furthest_is_blamed),
        cmocka_unit_test(the_timely_one_of_two_moved_steps_stands_for_its_phase),
        cmocka_unit_test(marking_again_releases_the_earlier_mark),
        cmocka_unit_test(more_steps_than_can_be_aligned_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
