#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/motion.h"
#include "core/units.h"
#include "support/hand_values.h"
#include "support/near.h"
#include "support/random.h"

#include <math.h>

static struct sl_mover sample_mover(double gradient)
{
    struct sl_car car = hand_car_to_drive();
    return sl_mover_make(&car, gradient);
}

/* On wheels alone: no gear in, nothing rubs. */
static struct sl_mover free_wheels(double gradient)
{
    struct sl_mover mover = sample_mover(gradient);
    mover.drag_kgpm = 0;
    mover.rolling_n = 0;
    return mover;
}

static struct sl_motion rolling(const struct sl_mover *mover, double speed_mps)
{
    struct sl_motion motion;
    sl_motion_start(mover, speed_mps, 4, &motion);
    return motion;
}

static void step_for(const struct sl_mover *mover, const struct sl_controls *controls,
                     double step_s, double for_s, struct sl_motion *motion)
{
    long n = lround(for_s / step_s);
    for (long i = 0; i < n; i++) {
        sl_motion_step(mover, controls, step_s, motion);
    }
}

/* Highway Code, rule 126: braking distances (read in a secondary copy; they follow from mph^2 / 20
 * feet, rounded to whole metres). The rate is that of the formula: 20 ft at 20 mph. */
static void braking_distances_are_the_published_ones(void **state)
{
    static const struct {
        double mph, metres;
    } table[] = {{20, 6}, {30, 14}, {40, 24}, {50, 38}, {60, 55}, {70, 75}};
    (void)state;
    struct sl_mover mover = free_wheels(0);
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double v = sl_mps_from_mph(table[i].mph);
        double rate = sl_mps_from_mph(20) * sl_mps_from_mph(20) / (2 * 20 * SL_M_PER_FT);
        struct sl_controls brake = {.brake_n = rate * mover.mass_kg};
        struct sl_motion motion = rolling(&mover, v);
        while (motion.speed_mps > 0) {
            sl_motion_step(&mover, &brake, SL_MOTION_STEP_S, &motion);
        }
        assert_near(motion.driven_m, table[i].metres, 0.8);
        /* and the closed form of a constant rate, exactly */
        assert_near(motion.driven_m, v * v / (2 * rate), 1e-9);
    }
}

/* m v' = -(a + b v^2) has the solution v = sqrt(a/b) tan(atan(v0 sqrt(b/a)) - t sqrt(a b) / m), and
 * m / (2 b) ln((a + b v0^2) / (a + b v^2)) is the way to v. */
static void coasting_down_follows_the_closed_form(void **state)
{
    (void)state;
    struct sl_mover mover = sample_mover(0);
    double a = mover.rolling_n;
    double b = mover.drag_kgpm;
    double v0 = sl_mps_from_mph(60);
    struct sl_motion motion = rolling(&mover, v0);
    struct sl_controls coast = {.gear = 0};
    for (int s = 1; s <= 60; s++) {
        step_for(&mover, &coast, SL_MOTION_STEP_S, 1, &motion);
        double v = sqrt(a / b) * tan(atan(v0 * sqrt(b / a)) - s * sqrt(a * b) / mover.mass_kg);
        double x = mover.mass_kg / (2 * b) * log((a + b * v0 * v0) / (a + b * v * v));
        assert_near(motion.speed_mps, v, 1e-5);
        assert_near(motion.driven_m, x, 1e-3);
    }
}

/* Half the step, a quarter of the error: second order. */
static void the_method_is_of_second_order(void **state)
{
    (void)state;
    struct sl_mover mover = sample_mover(0);
    mover.drag_kgpm *= 50; /* so that rounding is far below the error */
    double a = mover.rolling_n;
    double b = mover.drag_kgpm;
    double v = sqrt(a / b) * tan(atan(30 * sqrt(b / a)) - 8 * sqrt(a * b) / mover.mass_kg);
    double x = mover.mass_kg / (2 * b) * log((a + b * 900) / (a + b * v * v));
    double last_v = 0;
    double last_x = 0;
    for (double step_s = 0.1; step_s > 0.01; step_s /= 2) {
        struct sl_motion motion = rolling(&mover, 30);
        struct sl_controls coast = {.gear = 0};
        step_for(&mover, &coast, step_s, 8, &motion);
        double error_v = fabs(motion.speed_mps - v);
        double error_x = fabs(motion.driven_m - x);
        assert_true(error_v > 0 && error_x > 0);
        if (last_v > 0) {
            assert_near(log2(last_v / error_v), 2, 0.15);
            assert_near(log2(last_x / error_x), 2, 0.15);
        }
        last_v = error_v;
        last_x = error_x;
    }
}

/* v^2 = v0^2 + 2 g h, and uphill it comes to rest where v0^2 = 2 g h. */
static void height_and_speed_are_exchanged(void **state)
{
    (void)state;
    struct sl_mover down = free_wheels(-0.1);
    struct sl_motion motion = rolling(&down, 5);
    struct sl_controls coast = {.gear = 0};
    step_for(&down, &coast, SL_MOTION_STEP_S, 10, &motion);
    double fallen_m = motion.driven_m * 0.1 / sqrt(1.01);
    assert_near(motion.speed_mps, sqrt(25 + 2 * SL_GRAVITY_MPS2 * fallen_m), 1e-9);
    struct sl_mover up = free_wheels(0.1);
    motion = rolling(&up, 5);
    step_for(&up, &coast, SL_MOTION_STEP_S, 20, &motion);
    assert_near(motion.driven_m * 0.1 / sqrt(1.01), 25 / (2 * SL_GRAVITY_MPS2), 1e-6);
    assert_near(motion.speed_mps, 0, 0); /* and never back down */
}

static void with_the_clutch_up_the_engine_turns_as_the_wheels_do(void **state)
{
    (void)state;
    struct sl_car car = hand_car_to_drive();
    struct sl_mover mover = sample_mover(0);
    for (int gear = 1; gear <= car.n_gears; gear++) {
        struct sl_motion motion;
        sl_motion_start(&mover, 10, gear, &motion);
        struct sl_controls foot_off = {.gear = gear, .clutch_nm = 200, .engine_nm = -1000};
        step_for(&mover, &foot_off, SL_MOTION_STEP_S, 1, &motion);
        assert_near(sl_motion_rpm(&motion), sl_engine_rpm(&car, motion.speed_mps, gear), 1e-6);
        assert_true(motion.speed_mps < 10);
    }
}

/* Engine braking is what the torque at this speed says: the deceleration by Newton. */
static void the_engine_brakes_as_its_torque_says(void **state)
{
    (void)state;
    struct sl_mover mover = free_wheels(0);
    struct sl_motion motion;
    sl_motion_start(&mover, 15, 3, &motion);
    double n = mover.turn_radpm[2];
    double torque_nm = mover.overrun_nm + mover.overrun_nms * motion.engine_radps;
    double rate = n * torque_nm / (mover.mass_kg + mover.inertia_kgm2 * n * n);
    struct sl_controls foot_off = {.gear = 3, .clutch_nm = 200};
    foot_off.engine_nm = -1000;
    sl_motion_step(&mover, &foot_off, 0.001, &motion);
    assert_near((15 - motion.speed_mps) / 0.001, rate, rate * 1e-3);
}

/* The lower the gear, the harder the engine holds the car back. */
static void a_lower_gear_brakes_harder(void **state)
{
    (void)state;
    struct sl_mover mover = sample_mover(0);
    double last = 0;
    for (int gear = 5; gear >= 2; gear--) {
        struct sl_motion motion;
        sl_motion_start(&mover, 13, gear, &motion);
        struct sl_controls foot_off = {.gear = gear, .clutch_nm = 200, .engine_nm = -1000};
        step_for(&mover, &foot_off, SL_MOTION_STEP_S, 1, &motion);
        assert_true(13 - motion.speed_mps > last);
        last = 13 - motion.speed_mps;
    }
}

/* Two bodies that stick keep their momentum and lose J_red slip^2 / 2 of their energy. */
static void a_clutch_that_grips_keeps_the_momentum(void **state)
{
    (void)state;
    struct sl_mover mover = free_wheels(0);
    struct sl_motion motion;
    sl_motion_start(&mover, 12, 4, &motion);
    mover.overrun_nm = 0;
    mover.overrun_nms = 0;
    mover.idle_radps = 0; /* an engine that neither pulls nor brakes */
    mover.torque_nm = 1e-9;
    double n = mover.turn_radpm[1];
    double momentum = mover.mass_kg * 12 + n * mover.inertia_kgm2 * motion.engine_radps;
    double before_j = sl_motion_energy_j(&mover, &motion);
    double slip = n * 12 - motion.engine_radps;
    struct sl_controls second = {.gear = 2, .clutch_nm = 150};
    step_for(&mover, &second, SL_MOTION_STEP_S, 2, &motion);
    assert_true(motion.grips);
    double v = momentum / (mover.mass_kg + n * n * mover.inertia_kgm2);
    assert_near(motion.speed_mps, v, 1e-6);
    double reduced =
        mover.inertia_kgm2 * mover.mass_kg / (mover.mass_kg + n * n * mover.inertia_kgm2);
    double lost_j = reduced * slip * slip / 2;
    assert_near(before_j - sl_motion_energy_j(&mover, &motion), lost_j, 1e-6 * lost_j);
}

/* What follows from a downshift that is too fast is the same with a tenth of the step. */
static void the_step_is_short_enough(void **state)
{
    (void)state;
    double speeds[2];
    double metres[2];
    const double steps_s[2] = {SL_MOTION_STEP_S, SL_MOTION_STEP_S / 10};
    struct sl_mover mover = sample_mover(0);
    for (int i = 0; i < 2; i++) {
        struct sl_motion motion;
        sl_motion_start(&mover, 13.4, 4, &motion);
        struct sl_controls down = {.gear = 0, .engine_nm = -1000};
        struct sl_controls second = {.gear = 2, .clutch_nm = 120, .engine_nm = -1000};
        step_for(&mover, &down, steps_s[i], 1, &motion);
        step_for(&mover, &second, steps_s[i], 2, &motion);
        speeds[i] = motion.speed_mps;
        metres[i] = motion.driven_m;
    }
    assert_true(speeds[0] < 12);
    assert_near(speeds[0], speeds[1], 0.01 * speeds[1]);
    assert_near(metres[0], metres[1], 0.01 * metres[1]);
}

static void an_engine_held_below_its_stalling_speed_stops(void **state)
{
    (void)state;
    struct sl_mover mover = sample_mover(0);
    struct sl_motion motion;
    sl_motion_start(&mover, 6, 4, &motion);
    struct sl_controls brake = {.gear = 4, .clutch_nm = 200, .brake_n = 2000};
    while (motion.running && motion.time_s < 10) {
        sl_motion_step(&mover, &brake, SL_MOTION_STEP_S, &motion);
    }
    assert_false(motion.running);
    /* 0.6 of 850 rpm in fourth gear */
    assert_near(sl_motion_rpm(&motion), 510, 10);
    step_for(&mover, &brake, SL_MOTION_STEP_S, 5, &motion);
    assert_near(motion.speed_mps, 0, 0);
    assert_near(motion.engine_radps, 0, 0);
}

static void an_engine_alone_idles(void **state)
{
    (void)state;
    struct sl_mover mover = sample_mover(0);
    struct sl_motion motion = rolling(&mover, 20);
    struct sl_controls clutch_down = {.gear = 4, .engine_nm = -1000};
    step_for(&mover, &clutch_down, SL_MOTION_STEP_S, 4, &motion);
    assert_near(sl_motion_rpm(&motion), 850, 1);
    assert_true(motion.running);
}

static void a_car_pulls_away_in_first_gear(void **state)
{
    (void)state;
    struct sl_mover mover = sample_mover(0.05);
    struct sl_motion motion = rolling(&mover, 20);
    struct sl_controls hold = {.gear = 0, .brake_n = 4000};
    step_for(&mover, &hold, SL_MOTION_STEP_S, 12, &motion);
    assert_near(motion.speed_mps, 0, 0);
    struct sl_controls away = {.gear = 1, .clutch_nm = 60, .engine_nm = 70};
    step_for(&mover, &away, SL_MOTION_STEP_S, 3, &motion);
    assert_true(motion.running && motion.speed_mps > 2);
    assert_true(motion.jolt_mps2 >= 0);
}

static struct sl_controls any_controls(uint64_t *chance)
{
    struct sl_controls controls = {.gear = (int)random_below(chance, 6)};
    if (random_below(chance, 3) > 0) {
        controls.clutch_nm = 250 * random_share(chance);
    }
    controls.engine_nm = 300 * (random_share(chance) - 0.5);
    if (random_below(chance, 3) == 0) {
        controls.brake_n = 8000 * random_share(chance);
    }
    return controls;
}

/* Whatever the feet do, on whatever slope: what is turned to heat only grows, so that the car and
 * the engine never have more energy than the engine gave. */
static void energy_is_never_created(void **state)
{
    uint64_t chance = 7;
    (void)state;
    for (int i = 0; i < 3000; i++) {
        struct sl_mover mover = sample_mover(0.4 * (random_share(&chance) - 0.5));
        struct sl_motion motion;
        sl_motion_start(&mover, 30 * random_share(&chance), 1 + (int)random_below(&chance, 5),
                        &motion);
        double start_j = sl_motion_energy_j(&mover, &motion);
        for (int j = 0; j < 20; j++) {
            struct sl_controls controls = any_controls(&chance);
            for (int k = 0; k < 40; k++) {
                double lost_j = motion.lost_j;
                sl_motion_step(&mover, &controls, SL_MOTION_STEP_S, &motion);
                assert_true(motion.speed_mps >= 0 && motion.engine_radps >= 0);
                assert_true(isfinite(motion.speed_mps) && isfinite(motion.engine_radps));
                if (!(motion.lost_j >= lost_j - 0.5)) {
                    fail_msg("run %d: %.3f J came from nowhere", i, lost_j - motion.lost_j);
                }
            }
        }
        double gained_j = sl_motion_energy_j(&mover, &motion) - start_j;
        assert_true(gained_j <= motion.engine_j + 1.0);
        assert_near(gained_j, motion.engine_j - motion.lost_j, 1e-6 * (1 + fabs(gained_j)));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(braking_distances_are_the_published_ones),
        cmocka_unit_test(coasting_down_follows_the_closed_form),
        cmocka_unit_test(the_method_is_of_second_order),
        cmocka_unit_test(height_and_speed_are_exchanged),
        cmocka_unit_test(with_the_clutch_up_the_engine_turns_as_the_wheels_do),
        cmocka_unit_test(the_engine_brakes_as_its_torque_says),
        cmocka_unit_test(a_lower_gear_brakes_harder),
        cmocka_unit_test(a_clutch_that_grips_keeps_the_momentum),
        cmocka_unit_test(the_step_is_short_enough),
        cmocka_unit_test(an_engine_held_below_its_stalling_speed_stops),
        cmocka_unit_test(an_engine_alone_idles),
        cmocka_unit_test(a_car_pulls_away_in_first_gear),
        cmocka_unit_test(energy_is_never_created),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
