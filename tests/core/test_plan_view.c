#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "core/plan.h"
#include "core/units.h"
#include "support/hand_plan.h"
#include "support/near.h"

/* Closed, by hand: see 2.4 m before the line, 2.4 / 2.2352 = 1.0737 s before line_s; decide until
 * 3 s after the line. 8.5 s at 5 mph 19.00 m, slowing 174.864 / 3 = 58.29 m,
 * 11 s at 30 mph 147.52 m: 224.81 m. */
static void a_closed_junction_is_decided_at_the_line(void **state)
{
    (void)state;
    struct sl_junction junction = hand_junction();
    junction.view = SL_VIEW_CLOSED;
    struct sl_plan plan = hand_plan(&junction);
    assert_near(plan.target_mps, 2.2352, 1e-9);
    assert_near(plan.needed_m, 224.81, 0.01);
    assert_near(plan.distance_m, 230, 1e-9);
    assert_int_equal(plan.gear, 1);
    assert_false(plan.judder);
    assert_near(plan.see_m, 2.4, 1e-12);
    assert_near(plan.see_s, plan.line_s - 1.0737, 1e-3);
    check_window(&plan.windows[DECIDE], plan.line_s - 7, plan.line_s - 1.0737, plan.line_s + 3);
    assert_near(plan.windows[DECIDE].closes_m, 0, 0);
}

static void a_stop_line_is_a_stop_whatever_the_view(void **state)
{
    (void)state;
    struct sl_junction junction = hand_junction();
    junction.control = SL_CONTROL_STOP;
    struct sl_plan plan = hand_plan(&junction);
    assert_int_equal(plan.view, SL_VIEW_OPEN);
    assert_near(plan.target_mps, 2.2352, 1e-9);
    assert_int_equal(plan.gear, 1);
    check_window(&plan.windows[DECIDE], plan.line_s - 7, plan.line_s, plan.line_s + 3);
}

/*
 * A corner 4 m back and y aside; for 30 mph on the major road 42.909 m must be seen (Manual for
 * Streets, see test_view.c). The open plan decides at 10 mph halfway between 7 s and 1.6123 s
 * before the line: 19.250 m. The eye sees enough from 42.578 x 4 / (42.578 - y): with y 34.8 m that
 * is 21.90 m, less the bonnet 19.50 m, just early enough; with y 34.7 m 19.22 m, just too late.
 */
static void a_measured_view_is_open_when_seen_by_the_open_decision(void **state)
{
    (void)state;
    struct sl_junction junction = hand_junction();
    junction.sight_measured = true;
    junction.view = SL_VIEW_CLOSED; /* not looked at */
    junction.sight = (struct sl_sight){.left = {.set_back_m = 4, .offset_m = 35.0},
                                       .major_mps = 30 * SL_MPS_PER_MPH};
    struct sl_plan open = hand_plan(&junction);
    assert_int_equal(open.view, SL_VIEW_OPEN);
    assert_near(open.sight_needed_m, 42.909, 1e-3);
    assert_true(open.see_m >= open.windows[DECIDE].due_m);
    assert_true(open.see_s <= open.windows[DECIDE].due_s);
    junction.sight.left.offset_m = 34.9;
    struct sl_plan closed = hand_plan(&junction);
    assert_int_equal(closed.view, SL_VIEW_CLOSED);
    assert_true(closed.see_m < open.windows[DECIDE].due_m);
    assert_near(closed.target_mps, 2.2352, 1e-9);
}

/* To the centimetre: the corner is set where the view opens just before or just after that point.
 */
static void the_border_of_open_is_the_open_decision(void **state)
{
    (void)state;
    struct sl_junction junction = hand_junction();
    double decide_m = hand_plan(&junction).windows[DECIDE].due_m;
    double needed_m = sl_sight_needed_m(13);
    junction.sight_measured = true;
    junction.sight.major_mps = 13;
    const struct {
        double further_m;
        enum sl_view view;
    } rows[] = {{0.01, SL_VIEW_OPEN}, {-0.01, SL_VIEW_CLOSED}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double eye_m = decide_m + rows[i].further_m + SL_EYE_BEHIND_FRONT_M;
        junction.sight.right.set_back_m = 4;
        junction.sight.right.offset_m = needed_m * (eye_m - 4) / eye_m;
        struct sl_plan plan = hand_plan(&junction);
        assert_near(plan.see_m, decide_m + rows[i].further_m, 1e-9);
        assert_int_equal(plan.view, rows[i].view);
    }
}

static void nothing_in_the_way_is_open_from_the_start(void **state)
{
    (void)state;
    struct sl_junction junction = hand_junction();
    junction.sight_measured = true;
    junction.sight.major_mps = 20;
    struct sl_plan plan = hand_plan(&junction);
    assert_int_equal(plan.view, SL_VIEW_OPEN);
    assert_true(isinf(plan.see_m));
    assert_near(plan.see_s, 0, 0);
    assert_true(plan.sight_needed_m > 0);
}

/* A view that opens before the closed plan's rolling does is decided when rolling begins. */
static void an_early_view_of_a_closed_junction_waits_for_the_rolling(void **state)
{
    (void)state;
    struct sl_junction junction = hand_junction();
    junction.sight_measured = true;
    junction.sight = (struct sl_sight){.left = {.set_back_m = 4, .offset_m = 34.0},
                                       .major_mps = 30 * SL_MPS_PER_MPH};
    struct sl_plan plan = hand_plan(&junction);
    assert_int_equal(plan.view, SL_VIEW_CLOSED);
    assert_true(plan.see_s < plan.rolling_from_s);
    assert_near(plan.windows[DECIDE].due_s, plan.rolling_from_s, 1e-12);
}

/* 22 m are too short for 10 mph (least 42.5 m) but not for 5 mph (least 21.2 m). */
static void a_measured_view_without_room_for_the_open_pace_is_closed(void **state)
{
    (void)state;
    struct sl_junction junction = hand_junction();
    junction.distance_m = 22;
    assert_int_equal(hand_plan_make(&junction, &(struct sl_plan){0}, NULL), SL_INVALID);
    junction.sight_measured = true;
    junction.sight = (struct sl_sight){.left = {.set_back_m = 4, .offset_m = 5}, .major_mps = 13};
    struct sl_plan plan = hand_plan(&junction);
    assert_int_equal(plan.view, SL_VIEW_CLOSED);
    junction.sight.left = (struct sl_corner){0}; /* seen from afar: open it is, and too short */
    assert_int_equal(hand_plan_make(&junction, &(struct sl_plan){0}, NULL), SL_INVALID);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_closed_junction_is_decided_at_the_line),
        cmocka_unit_test(a_stop_line_is_a_stop_whatever_the_view),
        cmocka_unit_test(a_measured_view_is_open_when_seen_by_the_open_decision),
        cmocka_unit_test(the_border_of_open_is_the_open_decision),
        cmocka_unit_test(nothing_in_the_way_is_open_from_the_start),
        cmocka_unit_test(an_early_view_of_a_closed_junction_waits_for_the_rolling),
        cmocka_unit_test(a_measured_view_without_room_for_the_open_pace_is_closed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
