/*
 * The shipped cars, driven by the model, beside published figures of stopping, coasting down and
 * engine braking. Where it says 'from memory', the publication was not looked up for this.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/feet.h"
#include "core/units.h"
#include "files/models.h"
#include "support/hand_values.h"
#include "support/near.h"

#include <math.h>
#include <stdlib.h>

#define KMH_PER_MPS 3.6
#define CLUTCH_NM 1000.0 /* of a clutch that is up and never slips */
#define FOOT_OFF_NM (-1000.0)

/* A shipped car and what a publication needs of it that its file does not say. */
static const struct shipped {
    const char *name;
    double width_m, height_m;           /* of such a car; ours, no source */
    double least_bmep_pa, most_bmep_pa; /* mean effective pressure at the most torque */
    bool diesel;
} shipped[] = {
    /* Heywood, Internal Combustion Engine Fundamentals (1988), 2.7: 850 to 1050 kPa for petrol
     * engines without a turbocharger, 1400 with one and a cooler for diesels; from memory. 2000 is
     * what later diesels reach; from memory, no source. */
    {"city-car", 1.65, 1.45, 850e3, 1050e3, false},
    {"small-petrol", 1.70, 1.45, 850e3, 1050e3, false},
    {"family-diesel", 1.80, 1.50, 1400e3, 2000e3, true},
};

#define N_SHIPPED (sizeof shipped / sizeof *shipped)

/* Fails, naming the car, unless least <= got <= most. */
static void assert_between(const char *car, double got, double least, double most)
{
    if (!(got >= least && got <= most)) {
        fail_msg("%s: %.4g is not within %.4g and %.4g", car, got, least, most);
    }
}

static struct sl_car load(const char *name)
{
    struct sl_car car = {0};
    assert_int_equal(sl_load_car(name, &car, NULL), SL_OK);
    return car;
}

/* A car that is added is held to the figures too. */
static void every_shipped_car_is_here(void **state)
{
    char **names = NULL;
    size_t n = 0;
    (void)state;
    assert_int_equal(sl_models_list("cars", &names, &n, NULL), SL_OK);
    assert_int_equal(n, N_SHIPPED);
    for (size_t i = 0; i < n; i++) {
        free(names[i]);
    }
    free(names);
}

/* Metres from the sight of it to rest: the feet go on for the thinking time, then do what is said
 * of a line that is too close. */
static double stopping_m(const struct sl_car *car, double speed_mps, double thinking_s)
{
    const struct sl_plan plan = {.approach_mps = speed_mps, .distance_m = 1.0};
    const struct sl_timing timing = hand_timing();
    const struct sl_settings stop = {.decision = SL_DECISION_WAIT};
    const struct sl_phase decide = {.carries = SL_SET_DECISION};
    struct sl_feet feet;
    struct sl_motion motion;
    sl_feet_make(car, &plan, &timing, 0, &feet);
    sl_motion_start(&feet.mover, speed_mps, feet.gear, &motion);
    bool seen = false;
    while (motion.speed_mps > 0) {
        if (!seen && motion.time_s >= thinking_s) {
            sl_feet_hear(&feet, &motion, &stop, &decide);
            seen = true;
        }
        struct sl_controls controls = sl_feet_move(&feet, &motion, SL_MOTION_STEP_S);
        sl_motion_step(&feet.mover, &controls, SL_MOTION_STEP_S, &motion);
    }
    return motion.driven_m;
}

/* Highway Code, rule 126 (read in a secondary copy): thinking, braking and overall distances in
 * whole metres, the overall one from the unrounded. Thinking is a foot for each mph: 0.682 s. */
static void cars_stop_in_the_distances_of_the_highway_code(void **state)
{
    static const struct {
        double mph, thinking_m, overall_m;
    } table[] = {{20, 6, 12}, {30, 9, 23}, {40, 12, 36}, {50, 15, 53}, {60, 18, 73}, {70, 21, 96}};
    (void)state;
    for (size_t i = 0; i < N_SHIPPED * (sizeof table / sizeof *table); i++) {
        double v = sl_mps_from_mph(table[i / N_SHIPPED].mph);
        double thinking_s = SL_M_PER_FT / SL_MPS_PER_MPH;
        struct sl_car car = load(shipped[i % N_SHIPPED].name);
        assert_near(v * thinking_s, table[i / N_SHIPPED].thinking_m, 0.5);
        assert_near(stopping_m(&car, v, thinking_s), table[i / N_SHIPPED].overall_m, 1.0);
        sl_car_clear(&car);
    }
}

/* Braking at a rate that it has on the level, tyres included, without changing the pressure on the
 * pedal. */
static double sight_m(const struct sl_car *car, double speed_mps, double gradient)
{
    struct sl_mover mover = sl_mover_make(car, gradient);
    double brake_n = mover.mass_kg * 4.41 - mover.rolling_n;
    const struct sl_controls brake = {.brake_n = brake_n, .engine_nm = FOOT_OFF_NM};
    struct sl_motion motion;
    sl_motion_start(&mover, speed_mps, 3, &motion);
    while (motion.speed_mps > 0) {
        sl_motion_step(&mover, &brake, SL_MOTION_STEP_S, &motion);
    }
    return 1.5 * speed_mps + motion.driven_m;
}

/* Manual for Streets (DfT, 2007), table 7.1: stopping sight distance, 1.5 s and 4.41 m/s2 (formula
 * and values from memory), in whole metres. */
static void cars_stop_within_the_sight_distances_for_streets(void **state)
{
    static const struct {
        double kmh, metres;
    } table[] = {{16, 9},  {20, 12}, {24, 15}, {25, 16}, {30, 20}, {32, 22},
                 {40, 31}, {45, 36}, {48, 40}, {50, 43}, {60, 56}};
    (void)state;
    for (size_t i = 0; i < N_SHIPPED * (sizeof table / sizeof *table); i++) {
        struct sl_car car = load(shipped[i % N_SHIPPED].name);
        double metres = sight_m(&car, table[i / N_SHIPPED].kmh / KMH_PER_MPS, 0);
        assert_near(metres, table[i / N_SHIPPED].metres, 0.8);
        sl_car_clear(&car);
    }
}

/* The same formula with its term for the gradient, 4.41 + 0.1 a with a in %, at 30 mph without the
 * bonnet: recomputed from it. Here weight and slope do it, with 9.81 for their 10 and air besides.
 */
static void a_slope_lengthens_and_shortens_it_as_published(void **state)
{
    static const struct {
        double percent, metres;
    } table[] = {{0, 40.51}, {-5, 43.12}, {-10, 46.49}, {5, 38.43}, {10, 36.74}};
    (void)state;
    for (size_t i = 0; i < N_SHIPPED * (sizeof table / sizeof *table); i++) {
        struct sl_car car = load(shipped[i % N_SHIPPED].name);
        double metres = sight_m(&car, sl_mps_from_mph(30), table[i / N_SHIPPED].percent / 100);
        assert_near(metres, table[i / N_SHIPPED].metres, 0.5);
        sl_car_clear(&car);
    }
}

/* Coefficients of rolling resistance of car tyres on a hard road: Gillespie, Fundamentals of
 * Vehicle Dynamics (1992): 0.01 (1 + V / 100), V in mph; Wong, Theory of Ground Vehicles: 0.0136 +
 * 0.4e-7 V^2, V in km/h, for radial tyres. Both from memory. At the speeds of an approach. */
static void tyres_roll_as_textbooks_say(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_SHIPPED; i++) {
        struct sl_car car = load(shipped[i].name);
        struct sl_mover mover = sl_mover_make(&car, 0);
        double rolling = mover.rolling_n / (mover.mass_kg * SL_GRAVITY_MPS2);
        assert_between(car.name, rolling, 0.01 * (1 + 10.0 / 100), 0.0136 + 0.4e-7 * 16 * 16);
        sl_car_clear(&car);
    }
}

/* The force in N that holds a car back at a speed, from how long it coasts, out of gear, from 5
 * km/h above to 5 km/h below it: P = M V dV / (500 T) of UN Regulation 83, annex 4a (from memory)
 * is that force times V, in kW. */
static double coasting_n(const struct sl_car *car, double kmh)
{
    struct sl_mover mover = sl_mover_make(car, 0);
    const struct sl_controls coast = {.engine_nm = FOOT_OFF_NM};
    double half_mps = 5 / KMH_PER_MPS;
    double v = kmh / KMH_PER_MPS;
    struct sl_motion motion;
    sl_motion_start(&mover, v + half_mps, mover.n_gears, &motion);
    while (motion.speed_mps > v - half_mps) {
        sl_motion_step(&mover, &coast, SL_MOTION_STEP_S, &motion);
    }
    double power_kw = mover.mass_kg * v * half_mps / (500 * motion.time_s);
    return 1000 * power_kw / v;
}

/* UN Regulation 83, annex 4a, table 3, from memory: what the rollers are set to hold a car of a
 * reference mass back with at 80 km/h where nobody measured it on the road, in N; the columns for
 * power and for a + b v^2 agree with it. The driven axle's tyres roll there too, the others do not:
 * half of the tyres comes on top. The reference mass is 25 kg more than that with the driver. */
static void cars_coast_down_as_the_rollers_are_set(void **state)
{
    static const struct {
        double to_kg, force_n, power_kw, a_n, b;
    } classes[] = {{850, 230, 5.1, 5.2, 0.0351},  {965, 252, 5.6, 5.7, 0.0385},
                   {1080, 270, 6.0, 6.1, 0.0412}, {1190, 284, 6.3, 6.4, 0.0433},
                   {1305, 302, 6.7, 6.8, 0.0460}, {1420, 315, 7.0, 7.1, 0.0481},
                   {1530, 329, 7.3, 7.4, 0.0502}, {1640, 338, 7.5, 7.6, 0.0515},
                   {1760, 351, 7.8, 7.9, 0.0536}};
    (void)state;
    for (size_t i = 0; i < sizeof classes / sizeof *classes; i++) {
        assert_near(classes[i].a_n + classes[i].b * 80 * 80, classes[i].force_n, 1.5);
        assert_near(classes[i].force_n * 80 / KMH_PER_MPS / 1000, classes[i].power_kw, 0.05);
    }
    for (size_t i = 0; i < N_SHIPPED; i++) {
        struct sl_car car = load(shipped[i].name);
        size_t class = 0;
        car.mass_kg += 25;
        while (classes[class].to_kg < car.mass_kg) {
            class ++;
        }
        double tyres_n = sl_mover_make(&car, 0).rolling_n / 2;
        double wanted_n = classes[class].force_n + tyres_n;
        double got_n = coasting_n(&car, 80);
        assert_near(got_n, wanted_n, 0.1 * wanted_n);
        sl_car_clear(&car);
    }
}

/* UN Global Technical Regulation 15 (WLTP), annex 4, default road load, from memory: 0.140 m +
 * (2.8e-6 m + 0.0170 width height) v^2, v in km/h. It is meant to be no less than what any car of
 * that size has. */
static void no_car_is_held_back_more_than_the_default_load(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_SHIPPED; i++) {
        struct sl_car car = load(shipped[i].name);
        double b = 2.8e-6 * car.mass_kg + 0.0170 * shipped[i].width_m * shipped[i].height_m;
        for (double kmh = 20; kmh <= 110; kmh += 15) {
            double most_n = 0.140 * car.mass_kg + b * kmh * kmh;
            double got_n = coasting_n(&car, kmh);
            assert_between(car.name, got_n, 0.6 * most_n, most_n);
        }
        sl_car_clear(&car);
    }
}

/* What it takes to turn an engine that does not fire, as a mean effective pressure in Pa, throttle
 * open: Heywood (1988), 13.3, from memory. Petrol (after Barnes-Moss): 0.97 + 0.15 n + 0.05 n^2
 * bar; diesel with direct injection (after Millington and Hartles): 75 + 48 n + 0.4 s^2 kPa; n in
 * 1000 rpm, s the piston's mean speed in m/s with a stroke of 90 mm. */
static double motored_pa(bool diesel, double rpm)
{
    double n = rpm / 1000;
    double piston_mps = 2 * 0.09 * rpm / 60;
    return diesel ? 1e3 * (75 + 48 * n + 0.4 * piston_mps * piston_mps)
                  : 1e5 * (0.97 + 0.15 * n + 0.05 * n * n);
}

/* The torque of a pressure is p V / (4 pi), and so is the most torque: the engine's size falls
 * out. A closed throttle adds what a cylinder can at most draw against, 1 bar. */
static void engines_brake_as_much_as_it_takes_to_turn_them(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_SHIPPED; i++) {
        struct sl_car car = load(shipped[i].name);
        struct sl_mover mover = sl_mover_make(&car, 0);
        for (double rpm = 1500; rpm <= 3500; rpm += 500) {
            double open_pa = motored_pa(shipped[i].diesel, rpm);
            double shut_pa = open_pa + (shipped[i].diesel ? 0 : 1e5);
            double least_nm = mover.torque_nm * open_pa / shipped[i].most_bmep_pa;
            double most_nm = mover.torque_nm * shut_pa / shipped[i].least_bmep_pa;
            double got_nm = -sl_mover_foot_off_nm(&mover, rpm * 2 * SL_PI / 60);
            assert_between(car.name, got_nm, least_nm, most_nm);
        }
        sl_car_clear(&car);
    }
}

/* What a car loses in the first second with the foot off, clutch up, in m/s2. */
static double foot_off_mps2(const struct sl_car *car, double speed_mps, int gear)
{
    struct sl_mover mover = sl_mover_make(car, 0);
    const struct sl_controls off = {.gear = gear, .clutch_nm = CLUTCH_NM, .engine_nm = FOOT_OFF_NM};
    struct sl_motion motion;
    sl_motion_start(&mover, speed_mps, gear, &motion);
    for (int i = 0; i < 100; i++) {
        sl_motion_step(&mover, &off, SL_MOTION_STEP_S, &motion);
    }
    return speed_mps - motion.speed_mps;
}

/* UN Regulation 13-H, 5.2.22.4, from memory: an electric car whose motor brakes when the foot comes
 * off the accelerator shows no brake lamps up to 0.7 m/s2 and must from 1.3 m/s2 on, as nobody
 * behind expects more of a lifted foot. In the gear that it is driven in a car stays below 0.7, in
 * second at 30 mph below 1.3; in gear it is held back by at least a quarter more than out of it
 * (ours, no source). */
static void a_lifted_foot_brakes_as_those_behind_expect(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_SHIPPED; i++) {
        struct sl_car car = load(shipped[i].name);
        for (double mph = 20; mph <= 60; mph += 10) {
            double v = sl_mps_from_mph(mph);
            double got = foot_off_mps2(&car, v, sl_feet_approach_gear(&car, v));
            double out_of_gear = coasting_n(&car, v * KMH_PER_MPS) / car.mass_kg;
            assert_between(car.name, got, 1.25 * out_of_gear, 0.7);
        }
        double second = foot_off_mps2(&car, sl_mps_from_mph(30), 2);
        assert_between(car.name, second, 0.7, 1.3);
        sl_car_clear(&car);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_shipped_car_is_here),
        cmocka_unit_test(cars_stop_in_the_distances_of_the_highway_code),
        cmocka_unit_test(cars_stop_within_the_sight_distances_for_streets),
        cmocka_unit_test(a_slope_lengthens_and_shortens_it_as_published),
        cmocka_unit_test(tyres_roll_as_textbooks_say),
        cmocka_unit_test(cars_coast_down_as_the_rollers_are_set),
        cmocka_unit_test(no_car_is_held_back_more_than_the_default_load),
        cmocka_unit_test(engines_brake_as_much_as_it_takes_to_turn_them),
        cmocka_unit_test(a_lifted_foot_brakes_as_those_behind_expect),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
