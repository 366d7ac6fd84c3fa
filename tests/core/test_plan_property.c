/* What holds for every plan, over thousands of random junctions and three timings. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

#include "core/braking.h"
#include "core/plan.h"
#include "core/units.h"
#include "support/hand_routine.h"
#include "support/near.h"
#include "support/random.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))
#define RUNS 4000

static double between(uint64_t *random, double least, double most)
{
    return least + (most - least) * random_share(random);
}

static struct sl_corner random_corner(uint64_t *random)
{
    if (random_below(random, 4) == 0) {
        return (struct sl_corner){0};
    }
    return (struct sl_corner){.set_back_m = between(random, 0, 20),
                              .offset_m = between(random, 0.1, 50)};
}

/* Any junction that passes its check. */
static struct sl_junction random_junction(uint64_t *random)
{
    struct sl_junction junction = {
        .kind = (enum sl_kind)random_below(random, SL_KIND_COUNT),
        .control = (enum sl_control)random_below(random, SL_CONTROL_COUNT),
        .turn = (enum sl_turn)random_below(random, 2),
        .view = (enum sl_view)random_below(random, SL_VIEW_COUNT),
        .sight_measured = random_below(random, 3) == 0,
        .sight = {.left = random_corner(random),
                  .right = random_corner(random),
                  .major_mps = between(random, 1, 31)},
        .approach_mps = sl_mps_from_mph(between(random, 4, 70)),
        .distance_m = random_below(random, 3) == 0 ? 0 : between(random, 1, 600),
        .gradient = random_below(random, 3) == 0 ? 0 : between(random, -0.25, 0.25),
    };
    if (junction.kind == SL_KIND_LIGHTS) {
        junction.control = SL_CONTROL_LIGHTS;
    }
    if (random_below(random, 50) == 0) {
        junction.approach_mps = sl_mps_from_mph(10);
    }
    assert_int_equal(sl_junction_check(&junction, NULL), SL_OK);
    return junction;
}

static struct sl_timing random_timing(uint64_t *random)
{
    struct sl_timing timing = {.comfort_mps2 = between(random, 0.3, 3),
                               .reaction_s = between(random, 0, 3),
                               .rolling_s = between(random, 0, 10),
                               .rolling_margin_s = between(random, 0, 5),
                               .gear_change_s = between(random, 0, 3),
                               .announce_s = between(random, 0, 8),
                               .step_s = between(random, 0, 5),
                               .early_s = between(random, 0, 5),
                               .at_line_s = between(random, 0, 5)};
    timing.firm_mps2 = timing.comfort_mps2 + between(random, 0, 3);
    return timing;
}

static void check_windows(const struct sl_plan *plan)
{
    double before_s = 0;
    for (size_t i = 0; i < plan->n_windows; i++) {
        const struct sl_window *window = &plan->windows[i];
        assert_true(window->opens_s >= 0);
        assert_true(window->opens_s <= window->due_s);
        assert_true(window->due_s <= window->closes_s);
        assert_true(isfinite(window->closes_s));
        assert_true(window->opens_m >= window->due_m && window->due_m >= window->closes_m);
        assert_true(window->due_s >= before_s - 1e-9);
        before_s = window->due_s;
        assert_near(window->due_m, sl_plan_distance_m(plan, window->due_s), 1e-9);
    }
}

/* The course from the speeds alone: summed up by the trapezium rule, exact for a linear speed but
 * in the slices in which the slowing begins or ends. */
static void check_course(const struct sl_plan *plan)
{
    assert_near(sl_plan_distance_m(plan, 0), plan->distance_m, 1e-6);
    assert_near(sl_plan_distance_m(plan, plan->brake_s), plan->brake_m, 1e-6);
    assert_near(sl_plan_distance_m(plan, plan->gear_s), plan->gear_m, 1e-6);
    const int slices = 1000;
    double slice_s = plan->line_s / slices;
    double driven_m = 0;
    double error_m = 0;
    for (int i = 0; i < slices; i++) {
        double at_s = slice_s * i;
        double from_mps = sl_plan_speed_mps(plan, at_s);
        double to_mps = sl_plan_speed_mps(plan, at_s + slice_s);
        assert_true(from_mps >= to_mps - 1e-9 && to_mps >= plan->target_mps - 1e-9);
        assert_true(from_mps <= plan->approach_mps + 1e-9);
        driven_m += slice_s * (from_mps + to_mps) / 2;
        error_m = fmax(error_m, slice_s * (from_mps - to_mps));
        double distance_m = sl_plan_distance_m(plan, at_s);
        assert_near(sl_plan_time_s(plan, distance_m), at_s, 1e-5);
    }
    assert_near(driven_m, plan->distance_m, 2 * error_m + 1e-6);
}

static void check_giving_up(const struct sl_plan *plan)
{
    assert_int_equal(plan->long_enough, plan->give_up == SL_GIVE_UP_NOTHING);
    assert_int_equal(plan->long_enough, plan->needed_m <= plan->distance_m);
    assert_int_equal(plan->fitting_mps > 0, plan->give_up == SL_GIVE_UP_SPEED);
    if (plan->give_up == SL_GIVE_UP_SPEED) {
        assert_true(plan->fitting_mps < plan->approach_mps);
        assert_true(plan->fitting_mps >= plan->target_mps - 1e-9);
    }
}

/* At the fitting speed everything fits without giving up speed; a little above it does not. */
static void check_fitting_speed(const struct sl_plan *plan, struct sl_junction junction,
                                const struct sl_routine *routine)
{
    struct sl_car car = hand_car();
    struct sl_plan again = {0};
    junction.view = plan->view;
    junction.sight_measured = false;
    junction.distance_m = plan->distance_m;
    junction.approach_mps = fmax(plan->fitting_mps * (1 - 1e-9), plan->target_mps);
    assert_int_equal(sl_plan_make(&junction, routine, &car, &again, NULL), SL_OK);
    assert_true(again.give_up <= SL_GIVE_UP_PAUSES);
    junction.approach_mps = plan->fitting_mps * 1.001;
    if (junction.approach_mps < plan->approach_mps) {
        assert_int_equal(sl_plan_make(&junction, routine, &car, &again, NULL), SL_OK);
        assert_int_equal(again.give_up, SL_GIVE_UP_SPEED);
    }
}

/* Where a car that starts to stop at this time comes to rest: metres short of the line. */
static double spare_m(const struct sl_plan *plan, const struct sl_timing *timing, double firm_mps2,
                      double at_s)
{
    return sl_plan_distance_m(plan, at_s) -
           sl_stopping_distance_m(sl_plan_speed_mps(plan, at_s), timing->reaction_s, firm_mps2);
}

static void check_stop(const struct sl_plan *plan, const struct sl_junction *junction,
                       const struct sl_timing *timing)
{
    double firm_mps2 = sl_rate_on_gradient_mps2(timing->firm_mps2, junction->gradient);
    assert_near(sl_plan_distance_m(plan, plan->stop_by_s), plan->stop_by_m, 1e-6);
    if (plan->stop_by_s > 0) { /* else none fits, or the first moment is the last */
        assert_near(spare_m(plan, timing, firm_mps2, plan->stop_by_s), 0, 1e-5);
    }
    for (int i = 0; i < 50; i++) {
        double later_s = 0.01 + i * (plan->line_s - plan->stop_by_s) / 50;
        assert_true(spare_m(plan, timing, firm_mps2, plan->stop_by_s + later_s) < 1e-5);
    }
}

/* How many of the runs gave a plan, and what they gave up. */
struct tally {
    int refused;
    int given_up[SL_GIVE_UP_SPEED + 1];
};

static void check_one(const struct sl_junction *junction, const struct sl_routine *routine,
                      struct tally *tally)
{
    struct sl_car car = hand_car();
    struct sl_plan plan = {0};
    struct sl_error error = {0};
    enum sl_status status = sl_plan_make(junction, routine, &car, &plan, &error);
    if (status != SL_OK) {
        assert_int_equal(status, SL_INVALID);
        assert_non_null(error.mend);
        tally->refused++;
    } else {
        assert_null(error.what);
        tally->given_up[plan.give_up]++;
        check_windows(&plan);
        check_course(&plan);
        check_giving_up(&plan);
        check_stop(&plan, junction, &routine->timing);
    }
    if (status == SL_OK && plan.give_up == SL_GIVE_UP_SPEED) {
        check_fitting_speed(&plan, *junction, routine);
    }
    sl_error_clear(&error);
}

static void check_many(const enum sl_moment *moments, size_t n_moments, bool random_times)
{
    uint64_t random = 20250101;
    struct hand_phases phases = hand_phases(moments, n_moments);
    struct sl_routine routine = hand_routine(&phases);
    struct tally tally = {0};
    for (int run = 0; run < RUNS; run++) {
        if (random_times) {
            routine.timing = random_timing(&random);
        }
        struct sl_junction junction = random_junction(&random);
        check_one(&junction, &routine, &tally);
    }
    /* The runs reach every outcome, and most of them are plans. */
    assert_true(tally.refused > 0 && tally.refused < RUNS / 2);
    for (size_t i = 0; i < COUNT_OF(tally.given_up); i++) {
        assert_true(tally.given_up[i] > 5);
    }
}

static void every_plan_of_the_usual_phases_keeps_its_promises(void **state)
{
    (void)state;
    const enum sl_moment moments[] = {SL_MOMENT_MIRRORS, SL_MOMENT_SIGNAL, SL_MOMENT_BRAKE,
                                      SL_MOMENT_GEAR, SL_MOMENT_DECIDE};
    check_many(moments, COUNT_OF(moments), false);
}

static void every_plan_with_a_position_and_no_gear_keeps_its_promises(void **state)
{
    (void)state;
    const enum sl_moment moments[] = {SL_MOMENT_MIRRORS, SL_MOMENT_SIGNAL, SL_MOMENT_POSITION,
                                      SL_MOMENT_BRAKE, SL_MOMENT_DECIDE};
    check_many(moments, COUNT_OF(moments), false);
}

static void every_plan_with_any_timing_keeps_its_promises(void **state)
{
    (void)state;
    const enum sl_moment moments[] = {SL_MOMENT_MIRRORS,  SL_MOMENT_MIRRORS, SL_MOMENT_SIGNAL,
                                      SL_MOMENT_POSITION, SL_MOMENT_BRAKE,   SL_MOMENT_GEAR,
                                      SL_MOMENT_DECIDE};
    check_many(moments, COUNT_OF(moments), true);
}

static void a_routine_of_the_decision_alone_has_a_plan(void **state)
{
    (void)state;
    const enum sl_moment moments[] = {SL_MOMENT_DECIDE};
    check_many(moments, COUNT_OF(moments), true);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_plan_of_the_usual_phases_keeps_its_promises),
        cmocka_unit_test(every_plan_with_a_position_and_no_gear_keeps_its_promises),
        cmocka_unit_test(every_plan_with_any_timing_keeps_its_promises),
        cmocka_unit_test(a_routine_of_the_decision_alone_has_a_plan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
