#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/near.h"
#include "support/marked_run.h"

struct wording {
    const char *name;
    bool timed;
    enum where where;
    const char *script;
    const char *what, *reason;
};

/* The first fault of each run, in words. */
static const struct wording wordings[] = {
    {"missed, timed, with a reason of its own", true, T_LEFT,
     "signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "The mirrors step was not heard; this junction wants interior and left mirror; it was due "
     "at 4.0 s, 120 m before the line.",
     "You must know who is behind you."},
    {"missed, untimed, nothing wanted", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; gear 2 up", "The decide step was not heard.",
     "General reason for missed."},
    {"unclear", false, T_LEFT,
     "mirrors interior left; ?signal left @3.2; ; speed 10; gear 2 up; decide go",
     "Something like \"signal left\" was heard at 3.2 s, not clearly enough to count as the "
     "signal step.",
     "General reason for unclear."},
    {"out of order", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up @5; speed 10 @7.5; decide go",
     "The gear step came at 5.0 s, 2.5 s before the speed step; it belongs after it.",
     "Text of gear-after-speed. Reason of gear-after-speed."},
    {"out of order without a rule", false, T_LEFT,
     "mirrors interior left; speed 10 @5; signal left @9; gear 2 up; decide go",
     "The speed step came at 5.0 s, 4.0 s before the signal step; it belongs after it.",
     "General reason for out-of-order."},
    {"overtaken", false, T_LEFT,
     "mirrors interior left; speed 10 @5; gear 2 up @6.5; decide go @9; signal left @11",
     "The signal step came at 11.0 s, 6.0 s after the speed step; it belongs before it.",
     "General reason for out-of-order."},
    {"wrong settings", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 1 down @16; decide go @24",
     "At 16.0 s you said first gear, clutch down; this junction wants second gear, clutch up.",
     "General reason for wrong-setting."},
    {"wrong speed", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 20 @12; gear 2 @16; decide go @24",
     "At 12.0 s you said 20 mph; this junction wants 10 mph (8 to 12 mph counts as right).",
     "General reason for wrong-setting."},
    {"mirror order", true, T_LEFT,
     "mirrors left interior @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "At 4.0 s you said left and interior mirror; the order here is interior and left mirror.",
     "Text of interior-first. Reason of interior-first."},
    {"early", true, T_LEFT,
     "mirrors interior left @0.5; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "The mirrors step came at 0.5 s, 1.5 s too early; it was due at 4.0 s, 120 m before the "
     "line, and from 2.0 to 6.0 s is right.",
     "General reason for early."},
    {"late", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @14.4; gear 2 up @16; decide go @24",
     "The speed step came at 14.4 s, 0.4 s too late; it was due at 12.0 s, 80 m before the "
     "line, and from 10.0 to 14.0 s is right.",
     "General reason for late."},
    {"rolling", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22-25; decide go "
     "@25.5",
     "The gear step was done at 25.0 s, which leaves 3.0 s of rolling before the line; at "
     "least "
     "5.0 s are wanted, and it was due at 16.0 s, 60 m before the line.",
     "Text of rolling. Reason of rolling."},
    {"look first", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @20",
     "The decide step said go at 20.0 s, 3.0 s before enough of the road can be seen; it was "
     "due at 24.0 s, 20 m before the line.",
     "Text of look-first. Reason of look-first."},
    {"extra", false, T_LEFT,
     "mirrors interior left; signal left @3; speed 10; signal right @6; gear 2; decide go",
     "The signal step was said once more (signal right) at 6.0 s; the one at 3.0 s counts.",
     "General reason for extra."},
    {"extra, nothing named", false, T_LEFT,
     "mirrors interior left @1; signal left @3; mirrors @6; speed 10; gear 2; decide go",
     "The mirrors step was said once more at 6.0 s; the one at 1.0 s counts.",
     "General reason for extra."},
};

static void faults_say_what_happened_in_figures(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof wordings / sizeof *wordings; i++) {
        struct run run = mark(wordings[i].script, wordings[i].timed, wordings[i].where);
        assert_int_not_equal(run.mark.n_faults, 0);
        print_message("%s\n", wordings[i].name);
        assert_string_equal(fault_at(&run, 0)->what, wordings[i].what);
        assert_string_equal(fault_at(&run, 0)->reason, wordings[i].reason);
        end_run(&run);
    }
}

static void a_phase_due_at_the_line_is_said_so(void **state)
{
    (void)state;
    struct run run = {
        .routine = fixture_routine(), .junction = fixture_junction(), .plan = fixture_plan()};
    run.plan.windows[DECIDE].due_m = 0;
    const struct sl_heard_list nothing = {0};
    const struct sl_mark_options options = {.timed = true};
    assert_int_equal(remark(&run, &nothing, &options, NULL), SL_OK);
    assert_int_equal(run.mark.n_faults, FIXTURE_PHASES);
    assert_string_equal(fault_at(&run, FIXTURE_PHASES - 1)->what,
                        "The decide step was not heard; it was due at 24.0 s, at the line.");
    end_run(&run);
}

static void faults_and_phases_carry_their_times(void **state)
{
    (void)state;
    struct run run =
        mark("mirrors interior left @4-5; signal left @11-12; speed 10 @12.5-13; gear 2 "
             "@16-17; gear up @18-19.5",
             true, T_LEFT);
    assert_int_equal(run.mark.n_phases, FIXTURE_PHASES);
    assert_true(run.mark.timed);
    assert_int_equal(run.mark.n_faults, 2);
    assert_near(fault_at(&run, 0)->at_s, 11, 0);
    assert_near(fault_at(&run, 0)->due_s, 8, 0);
    assert_true(isnan(fault_at(&run, 1)->at_s));
    assert_near(fault_at(&run, 1)->due_s, 24, 0);
    assert_true(run.mark.phases[GEAR].heard);
    assert_near(run.mark.phases[GEAR].at_s, 16, 0);
    assert_near(run.mark.phases[GEAR].end_s, 19.5, 0);
    assert_int_equal(run.mark.phases[GEAR].wanted.settings.gear, 2);
    assert_false(run.mark.phases[DECIDE].heard);
    assert_true(isnan(run.mark.phases[DECIDE].at_s));
    end_run(&run);

    run = mark("mirrors interior left; signal left; speed 10; gear 2; ?decide go", false, T_LEFT);
    assert_false(run.mark.timed);
    assert_true(run.mark.phases[DECIDE].unclear);
    assert_false(run.mark.phases[DECIDE].heard);
    assert_true(isnan(fault_at(&run, 0)->due_s));
    assert_true(fault_at(&run, 0)->at_s > 0);
    end_run(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(faults_say_what_happened_in_figures),
        cmocka_unit_test(a_phase_due_at_the_line_is_said_so),
        cmocka_unit_test(faults_and_phases_carry_their_times),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
