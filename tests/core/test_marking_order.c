#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/near.h"
#include "support/fault_rows.h"

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
    assert_int_equal(remark(&run, &heard, &options, NULL), SL_OK);
    char *faults = script_faults(&run.routine, &run.mark);
    assert_string_equal(faults, "mirrors out-of-order signal-after-mirrors");
    assert_near(run.mark.scores.order, 100.0 * 10 / 11, 1e-4);
    free(faults);
    sl_heard_clear(&heard);
    end_run(&run);
}

/* The faults of a script, untimed, by a routine changed by the test; the caller frees. */
static char *faults_by(const struct sl_routine *routine, const char *script)
{
    struct sl_junction junction = fixture_junction();
    struct sl_plan plan = fixture_plan();
    struct sl_heard_list heard = script_heard(routine, script);
    const struct sl_mark_options options = {0};
    struct sl_mark made = {0};
    const struct sl_task task = {routine, &junction, &plan, options};
    assert_int_equal(sl_mark_make(&task, &heard, &made, NULL), SL_OK);
    char *faults = script_faults(routine, &made);
    sl_mark_clear(&made);
    sl_heard_clear(&heard);
    return faults;
}

/* Gear and speed both jumped ahead of the mirrors, and the gear of the speed as well. */
static void the_step_that_jumped_furthest_is_blamed_unless_a_rule_is_broken(void **state)
{
    (void)state;
    static const char script[] = "signal left; gear 2; speed 10; mirrors interior left; decide go";
    struct sl_routine routine = fixture_routine();
    struct sl_routine changed = routine;
    changed.n_rules = 0;
    char *ruleless = faults_by(&changed, script);
    assert_string_equal(ruleless, "mirrors out-of-order, gear out-of-order");
    free(ruleless);
    changed.n_rules = 1;
    changed.rules[0].phase = SPEED;
    char *ruled = faults_by(&changed, script);
    assert_string_equal(ruled, "mirrors out-of-order, speed out-of-order signal-after-mirrors");
    free(ruled);
    sl_routine_clear(&routine);
}

static void only_going_ahead_needs_no_word_about_the_signal(void **state)
{
    (void)state;
    struct sl_routine routine = fixture_routine();
    routine.turn[SL_TURN_LEFT].signal = SL_SIGNAL_NONE;
    char *faults = faults_by(&routine, "mirrors interior left; speed 10; gear 2; decide go");
    assert_string_equal(faults, "signal missed");
    free(faults);
    sl_routine_clear(&routine);
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steps_out_of_order_are_the_smallest_set_of_moved_ones),
        cmocka_unit_test(steps_said_again_are_extra),
        cmocka_unit_test(a_rule_against_the_order_still_gets_its_fault),
        cmocka_unit_test(the_step_that_jumped_furthest_is_blamed_unless_a_rule_is_broken),
        cmocka_unit_test(only_going_ahead_needs_no_word_about_the_signal),
        cmocka_unit_test(the_timely_one_of_two_moved_steps_stands_for_its_phase),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
