#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "core/car.h"
#include "core/str.h"
#include "core/units.h"
#include "support/hand_values.h"
#include "support/near.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

/* A car of one ratio whose wheels have this rolling diameter: 2 x 186.5 mm x 60 % = 223.8 mm. */
static struct sl_car one_gear(double ratio, double final_drive, double diameter_mm)
{
    return (struct sl_car){.gear_ratio = {ratio},
                           .n_gears = 1,
                           .final_drive = final_drive,
                           .tyre_width_mm = 186.5,
                           .tyre_aspect_percent = 60,
                           .rim_in = (diameter_mm - 223.8) / 25.4};
}

/* ISO metric tyre code; both sizes read in a secondary copy and recomputed. */
static void tyre_diameters_follow_from_the_size_code(void **state)
{
    (void)state;
    struct sl_car car = hand_car();
    assert_near(sl_tyre_diameter_m(&car), 0.6030, 1e-9);
    car.rim_in = 14;
    assert_near(sl_tyre_diameter_m(&car), 0.5776, 1e-9);
}

/* 175/70R13 with a dynamic radius of 0.277 m, final drive 4.1, direct gear: 3000 rpm at 76.3 km/h
 * (read in a secondary copy, recomputed; three figures, hence 0.3 %). */
static void engine_speed_agrees_with_a_published_car(void **state)
{
    (void)state;
    struct sl_car car = one_gear(1.0, 4.1, 554.0);
    assert_near(sl_engine_rpm(&car, 76.3 * SL_MPS_PER_KMH, 1), 3000, 9);
}

/* rpm = 168 F G mph / r(in): radius 14 in, 3.73, 0.70, 70 mph gives 2193 (read in a secondary copy,
 * recomputed; 168 is rounded from 168.07, hence 0.1 %). */
static void engine_speed_agrees_with_the_rule_in_inches(void **state)
{
    (void)state;
    struct sl_car car = one_gear(0.70, 3.73, 28.0 * 25.4);
    assert_near(sl_engine_rpm(&car, sl_mps_from_mph(70), 1), 2193, 2.2);
}

/* The sample car's second gear at 10 mph: 1109 rpm, recomputed. */
static void second_gear_at_ten_is_just_above_judder(void **state)
{
    (void)state;
    struct sl_car car = hand_car();
    assert_near(sl_engine_rpm(&car, sl_mps_from_mph(10), 2), 1109, 0.5);
    assert_true(sl_engine_rpm(&car, sl_mps_from_mph(10), 3) < car.judder_rpm);
    assert_near(sl_engine_rpm(&car, 0, 1), 0, 0);
}

static void a_car_in_range_is_taken(void **state)
{
    (void)state;
    struct sl_car car = hand_car();
    assert_int_equal(sl_car_check(&car, NULL), SL_OK);
}

/* Row by row one field of the sample is spoilt. */
static void a_car_out_of_range_is_refused_with_value_and_mend(void **state)
{
    (void)state;
    const struct {
        size_t offset;
        double value;
        const char *what;
    } rows[] = {
        {offsetof(struct sl_car, gear_ratio), 0, "a gear's ratio is 0"},
        {offsetof(struct sl_car, gear_ratio), 35.8, "a gear's ratio is 35.8"},
        {offsetof(struct sl_car, gear_ratio), NAN, NULL},
        {offsetof(struct sl_car, gear_ratio), 1.5,
         "the ratio 1.93 of gear 2 is not smaller than the 1.5 of gear 1"},
        {offsetof(struct sl_car, final_drive), 0.5, "the final drive is 0.5"},
        {offsetof(struct sl_car, final_drive), INFINITY, NULL},
        {offsetof(struct sl_car, tyre_width_mm), 18.5, "the tyre's width is 18.5 mm"},
        {offsetof(struct sl_car, tyre_aspect_percent), 0.6, "the tyre's aspect is 0.6 %"},
        {offsetof(struct sl_car, rim_in), 381, "the rim is 381 inches"},
        {offsetof(struct sl_car, idle_rpm), 0, "the idling speed is 0 rpm"},
        {offsetof(struct sl_car, judder_rpm), 700, "the judder speed is 700 rpm"},
        {offsetof(struct sl_car, judder_rpm), NAN, NULL},
        {offsetof(struct sl_car, mass_kg), -1150, "the mass is -1150 kg"},
        {offsetof(struct sl_car, mass_kg), NAN, NULL},
        {offsetof(struct sl_car, drag_area_m2), 65, "the drag area is 65 m2"},
        {offsetof(struct sl_car, rolling), 1.2, "the rolling resistance is 1.2"},
        {offsetof(struct sl_car, torque_nm), 4, "the torque is 4 Nm"},
        {offsetof(struct sl_car, overrun_nm), 300, "the engine braking is 300 Nm"},
        {offsetof(struct sl_car, overrun_krpm), -1, "the engine braking for 1000 rpm is -1 Nm"},
        {offsetof(struct sl_car, inertia_kgm2), 12, "the engine's inertia is 12 kg m2"},
        {offsetof(struct sl_car, stall_rpm), 810, "the stalling speed is 810 rpm"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_error error = {0};
        struct sl_car car = hand_car();
        memcpy((char *)&car + rows[i].offset, &rows[i].value, sizeof rows[i].value);
        assert_int_equal(sl_car_check(&car, &error), SL_INVALID);
        assert_non_null(error.mend);
        if (rows[i].what != NULL) {
            assert_string_equal(error.what, rows[i].what);
        }
        sl_error_clear(&error);
    }
}

/* What a car does not say of how it moves is usual for its torque and its idling speed. */
static void what_is_left_out_is_filled_in(void **state)
{
    (void)state;
    struct sl_car car = hand_car();
    car.torque_nm = 200;
    car.rolling = 0.02;
    struct sl_car moving = sl_car_moving(&car);
    assert_near(moving.torque_nm, 200, 0);
    assert_near(moving.rolling, 0.02, 0);
    assert_near(moving.mass_kg, 1150, 0);
    assert_near(moving.overrun_nm, 24, 1e-9);
    assert_near(moving.stall_rpm, 480, 1e-9);
    assert_int_equal(sl_car_check(&moving, NULL), SL_OK);
    assert_near(car.mass_kg, 0, 0);
}

static void the_number_of_gears_is_one_to_six(void **state)
{
    (void)state;
    struct sl_car car = hand_car();
    const int wrong[] = {-1, 0, 7};
    for (size_t i = 0; i < COUNT_OF(wrong); i++) {
        car.n_gears = wrong[i];
        assert_int_equal(sl_car_check(&car, NULL), SL_INVALID);
    }
    car.n_gears = 6; /* with the sixth ratio left at 0 */
    assert_int_equal(sl_car_check(&car, NULL), SL_INVALID);
}

static void a_car_can_be_cleared_twice(void **state)
{
    (void)state;
    struct sl_car car = hand_car();
    car.name = sl_strdup("hatchback");
    car.title = sl_strdup("A small hatchback");
    sl_car_clear(&car);
    assert_null(car.name);
    assert_int_equal(car.n_gears, 0);
    sl_car_clear(&car);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tyre_diameters_follow_from_the_size_code),
        cmocka_unit_test(engine_speed_agrees_with_a_published_car),
        cmocka_unit_test(engine_speed_agrees_with_the_rule_in_inches),
        cmocka_unit_test(second_gear_at_ten_is_just_above_judder),
        cmocka_unit_test(a_car_in_range_is_taken),
        cmocka_unit_test(a_car_out_of_range_is_refused_with_value_and_mend),
        cmocka_unit_test(what_is_left_out_is_filled_in),
        cmocka_unit_test(the_number_of_gears_is_one_to_six),
        cmocka_unit_test(a_car_can_be_cleared_twice),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
