/*
 * A car and figures of a routine, made by hand: what the tests of plans, cars and drives share.
 */
#ifndef SL_TESTS_HAND_VALUES_H
#define SL_TESTS_HAND_VALUES_H

#include "core/car.h"
#include "core/routine.h"

/* Invented car; ratios usual ones, from memory. Second gear at 10 mph: 1109 rpm. */
static inline struct sl_car hand_car(void)
{
    return (struct sl_car){.gear_ratio = {3.58, 1.93, 1.28, 0.95, 0.76},
                           .n_gears = 5,
                           .final_drive = 4.06,
                           .tyre_width_mm = 185,
                           .tyre_aspect_percent = 60,
                           .rim_in = 15,
                           .idle_rpm = 800,
                           .judder_rpm = 1000};
}

/* The same with the idling speed of models/cars/small-petrol.yaml, for driving it. */
static inline struct sl_car hand_car_to_drive(void)
{
    struct sl_car car = hand_car();
    car.idle_rpm = 850;
    return car;
}

static inline struct sl_timing hand_timing(void)
{
    return (struct sl_timing){.comfort_mps2 = 1.5,
                              .firm_mps2 = 2.45,
                              .reaction_s = 0.7,
                              .rolling_s = 5,
                              .rolling_margin_s = 2,
                              .gear_change_s = 1.5,
                              .announce_s = 5,
                              .step_s = 3,
                              .early_s = 1.5,
                              .at_line_s = 3};
}

#endif
