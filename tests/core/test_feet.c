#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/feet.h"
#include "support/drive_fixture.h"
#include "support/near.h"

/* Feet and car on the fixture's approach. */
struct pair {
    struct drive_fixture f;
    struct sl_feet feet;
    struct sl_motion motion;
};

static void start(struct pair *pair)
{
    fixture_make(&pair->f);
    sl_feet_make(&pair->f.car, &pair->f.plan, &pair->f.routine.timing, pair->f.junction.gradient,
                 &pair->feet);
    sl_motion_start(&pair->feet.mover, pair->f.plan.approach_mps, pair->feet.gear, &pair->motion);
}

static void hear(struct pair *pair, size_t phase, struct sl_settings said)
{
    sl_feet_hear(&pair->feet, &pair->motion, &said, &pair->f.routine.phases[phase]);
}

static struct sl_controls go_on(struct pair *pair, double for_s)
{
    struct sl_controls controls = {0};
    for (long i = 0; i < lround(for_s / SL_MOTION_STEP_S); i++) {
        controls = sl_feet_move(&pair->feet, &pair->motion, SL_MOTION_STEP_S);
        sl_motion_step(&pair->feet.mover, &controls, SL_MOTION_STEP_S, &pair->motion);
    }
    return controls;
}

static void a_car_comes_in_the_gear_in_which_its_engine_turns_well(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    /* 168 F G mph / r(in), as in test_car.c: 30 mph 1640 rpm in fourth, 20 mph 1473 in third, 10
     * mph 1109 in second */
    assert_int_equal(sl_feet_approach_gear(&f.car, sl_mps_from_mph(30)), 4);
    assert_int_equal(sl_feet_approach_gear(&f.car, sl_mps_from_mph(20)), 3);
    assert_int_equal(sl_feet_approach_gear(&f.car, sl_mps_from_mph(10)), 2);
    assert_int_equal(sl_feet_approach_gear(&f.car, sl_mps_from_mph(3)), 1);
    assert_int_equal(sl_feet_approach_gear(&f.car, sl_mps_from_mph(70)), 5);
    fixture_clear(&f);
}

static void the_speed_is_held_on_a_hill(void **state)
{
    (void)state;
    const double gradients[] = {-0.08, 0, 0.06};
    for (size_t i = 0; i < 3; i++) {
        struct pair pair;
        start(&pair);
        sl_feet_make(&pair.f.car, &pair.f.plan, &pair.f.routine.timing, gradients[i], &pair.feet);
        struct sl_controls controls = go_on(&pair, 10);
        assert_near(pair.motion.speed_mps, pair.f.plan.approach_mps, 0.05);
        assert_int_equal(controls.brake_n > 0, gradients[i] < 0);
        fixture_clear(&pair.f);
    }
}

/* Brakes to change gear, gears to go: never both at once. */
/* "Slow down" lifts the foot; after "slow down to ten", "change down" is no reason to. */
static void words_without_a_figure_lift_the_foot_until_a_speed_is_named(void **state)
{
    (void)state;
    struct pair pair;
    start(&pair);
    hear(&pair, SPEED, (struct sl_settings){0});
    struct sl_controls controls = go_on(&pair, 3);
    assert_true(pair.motion.speed_mps < pair.f.plan.approach_mps - 0.5);
    assert_near(controls.brake_n, 0, 1e-9);
    hear(&pair, SPEED, (struct sl_settings){.speed_mps = 5});
    go_on(&pair, 10);
    hear(&pair, GEAR, (struct sl_settings){.gear = 2});
    go_on(&pair, 5);
    hear(&pair, SPEED, (struct sl_settings){0});
    go_on(&pair, 5);
    assert_near(pair.motion.speed_mps, 5, 0.1);
    fixture_clear(&pair.f);
}

static void nobody_brakes_while_the_gear_changes(void **state)
{
    (void)state;
    struct pair pair;
    start(&pair);
    hear(&pair, SPEED, (struct sl_settings){.speed_mps = 5});
    go_on(&pair, 1);
    double before = pair.motion.speed_mps;
    hear(&pair, GEAR, (struct sl_settings){.gear = 3});
    struct sl_controls controls = go_on(&pair, 1);
    assert_near(controls.brake_n, 0, 0);
    assert_int_equal(controls.gear, 0);
    assert_near(controls.clutch_nm, 0, 0);
    assert_true(before - pair.motion.speed_mps < 0.25); /* braking would take 1.5 */
    controls = go_on(&pair, 1);
    assert_int_equal(controls.gear, 3);
    assert_true(pair.motion.grips);
    fixture_clear(&pair.f);
}

static void a_clutch_called_down_stays_down(void **state)
{
    (void)state;
    struct pair pair;
    start(&pair);
    hear(&pair, GEAR, (struct sl_settings){.clutch = SL_CLUTCH_DOWN});
    struct sl_controls controls = go_on(&pair, 3);
    assert_near(controls.clutch_nm, 0, 0);
    assert_near(sl_motion_rpm(&pair.motion), 1.2 * 850, 15);
    assert_true(pair.motion.speed_mps < pair.f.plan.approach_mps - 0.3);
    hear(&pair, GEAR, (struct sl_settings){.clutch = SL_CLUTCH_UP});
    go_on(&pair, 5);
    assert_true(pair.motion.grips);
    assert_near(pair.motion.speed_mps, pair.f.plan.approach_mps, 0.1);
    fixture_clear(&pair.f);
}

static void at_a_walk_the_clutch_keeps_the_speed(void **state)
{
    (void)state;
    struct pair pair;
    start(&pair);
    hear(&pair, SPEED, (struct sl_settings){.speed_mps = 2});
    go_on(&pair, 8.5);
    hear(&pair, GEAR, (struct sl_settings){.gear = 1, .clutch = SL_CLUTCH_DOWN});
    go_on(&pair, 15);
    assert_near(pair.motion.speed_mps, 2, 0.1);
    assert_false(pair.motion.grips);
    assert_true(pair.motion.running);
    fixture_clear(&pair.f);
}

/* Without a gear the clutch comes up in fourth: 218 rpm at 4 mph. */
static void a_gear_that_never_comes_stalls_the_engine(void **state)
{
    (void)state;
    struct pair pair;
    start(&pair);
    hear(&pair, SPEED, (struct sl_settings){.speed_mps = sl_mps_from_mph(4)});
    go_on(&pair, 9);
    assert_true(pair.motion.running);
    go_on(&pair, SL_FEET_PATIENCE_S + 3);
    assert_false(pair.motion.running);
    go_on(&pair, 5);
    assert_near(pair.motion.speed_mps, 0, 0);
    fixture_clear(&pair.f);
}

static void a_stop_is_gentle_where_there_is_room(void **state)
{
    (void)state;
    struct pair pair;
    start(&pair);
    hear(&pair, DECIDE, (struct sl_settings){.decision = SL_DECISION_WAIT});
    double hardest = 0;
    while (pair.motion.speed_mps > 0 && pair.motion.time_s < 60) {
        double before = pair.motion.speed_mps;
        go_on(&pair, SL_MOTION_STEP_S);
        hardest = fmax(hardest, (before - pair.motion.speed_mps) / SL_MOTION_STEP_S);
    }
    assert_near(pair.f.plan.distance_m - pair.motion.driven_m, SL_FEET_STOP_M, 0.3);
    assert_true(hardest < 1.8);
    assert_true(pair.motion.running);
    fixture_clear(&pair.f);
}

/* Whatever is said, on whatever hill: car and engine have no more than the engine gave. */
static void no_words_create_energy(void **state)
{
    uint64_t chance = 3;
    (void)state;
    for (int i = 0; i < 2000; i++) {
        struct pair pair;
        start(&pair);
        double gradient = 0.4 * (random_share(&chance) - 0.5);
        sl_feet_make(&pair.f.car, &pair.f.plan, &pair.f.routine.timing, gradient, &pair.feet);
        double start_j = sl_motion_energy_j(&pair.feet.mover, &pair.motion);
        for (int j = 0; j < 8; j++) {
            hear(&pair, random_below(&chance, FIXTURE_PHASES), any_settings(&chance));
            for (int k = 0; k < 30; k++) {
                double lost_j = pair.motion.lost_j;
                go_on(&pair, 5 * SL_MOTION_STEP_S);
                assert_true(pair.motion.lost_j >= lost_j - 0.5);
                assert_true(pair.motion.speed_mps >= 0 && isfinite(pair.motion.speed_mps));
            }
        }
        double gained_j = sl_motion_energy_j(&pair.feet.mover, &pair.motion) - start_j;
        assert_true(gained_j <= pair.motion.engine_j + 1);
        fixture_clear(&pair.f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_car_comes_in_the_gear_in_which_its_engine_turns_well),
        cmocka_unit_test(the_speed_is_held_on_a_hill),
        cmocka_unit_test(words_without_a_figure_lift_the_foot_until_a_speed_is_named),
        cmocka_unit_test(nobody_brakes_while_the_gear_changes),
        cmocka_unit_test(a_clutch_called_down_stays_down),
        cmocka_unit_test(at_a_walk_the_clutch_keeps_the_speed),
        cmocka_unit_test(a_gear_that_never_comes_stalls_the_engine),
        cmocka_unit_test(a_stop_is_gentle_where_there_is_room),
        cmocka_unit_test(no_words_create_energy),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
