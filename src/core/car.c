#include "core/car.h"

#include "core/range.h"
#include "core/units.h"

#include <assert.h>
#include <stdlib.h>

#define MM_PER_IN 25.4 /* exact */
#define MM_PER_M 1000.0
#define SECONDS_PER_MINUTE 60.0

/* Wider than the gears of any car on sale; a slipped decimal point falls outside. */
#define RATIO_MIN 0.2
#define RATIO_MAX 8.0

double sl_tyre_diameter_m(const struct sl_car *car)
{
    double sidewall_mm = car->tyre_width_mm * car->tyre_aspect_percent / 100.0;
    return (2.0 * sidewall_mm + MM_PER_IN * car->rim_in) / MM_PER_M;
}

double sl_engine_rpm(const struct sl_car *car, double speed_mps, int gear)
{
    assert(gear >= 1 && gear <= car->n_gears);
    double circumference_m = SL_PI * sl_tyre_diameter_m(car);
    return SECONDS_PER_MINUTE * speed_mps * car->gear_ratio[gear - 1] * car->final_drive /
           circumference_m;
}

static void fill(double *figure, double with)
{
    *figure = *figure == 0.0 ? with : *figure;
}

struct sl_car sl_car_moving(const struct sl_car *car)
{
    struct sl_car moving = *car;
    fill(&moving.mass_kg, 1150.0);
    fill(&moving.drag_area_m2, 0.65);
    fill(&moving.rolling, 0.012);
    fill(&moving.torque_nm, 110.0);
    fill(&moving.overrun_nm, 0.12 * moving.torque_nm);
    fill(&moving.overrun_krpm, 0.05 * moving.torque_nm);
    fill(&moving.inertia_kgm2, 0.0011 * moving.torque_nm);
    fill(&moving.stall_rpm, 0.6 * moving.idle_rpm);
    return moving;
}

static enum sl_status check_gears(const struct sl_car *car, struct sl_error *error)
{
    if (car->n_gears < 1 || car->n_gears > SL_GEAR_MAX) {
        return sl_fail(error, SL_INVALID, car->name, "give the ratios of 1 to 6 gears",
                       "the car has %d gears", car->n_gears);
    }
    for (int i = 0; i < car->n_gears; i++) {
        struct sl_range range = {"a gear's ratio", "",        car->gear_ratio[i],
                                 RATIO_MIN,        RATIO_MAX, false};
        enum sl_status status = sl_ranges_check(&range, 1, car->name, error);
        if (status != SL_OK) {
            return status;
        }
        if (i > 0 && car->gear_ratio[i] >= car->gear_ratio[i - 1]) {
            return sl_fail(error, SL_INVALID, car->name,
                           "list the ratios from first gear up, each smaller than the one before",
                           "the ratio %g of gear %d is not smaller than the %g of gear %d",
                           car->gear_ratio[i], i + 1, car->gear_ratio[i - 1], i);
        }
    }
    return SL_OK;
}

enum sl_status sl_car_check(const struct sl_car *car, struct sl_error *error)
{
    enum sl_status status = check_gears(car, error);
    if (status != SL_OK) {
        return status;
    }
    const struct sl_range ranges[] = {
        {"the final drive", "", car->final_drive, 1.0, 10.0, false},
        {"the tyre's width", "mm", car->tyre_width_mm, 100.0, 400.0, false},
        {"the tyre's aspect", "%", car->tyre_aspect_percent, 20.0, 100.0, false},
        {"the rim", "inches", car->rim_in, 10.0, 24.0, false},
        {"the idling speed", "rpm", car->idle_rpm, 400.0, 1500.0, false},
        {"the judder speed", "rpm", car->judder_rpm, car->idle_rpm, 2500.0, false},
    };
    status = sl_ranges_check(ranges, sizeof ranges / sizeof ranges[0], car->name, error);
    if (status != SL_OK) {
        return status;
    }
    const struct sl_car moving = sl_car_moving(car);
    const struct sl_range moves[] = {
        {"the mass", "kg", moving.mass_kg, 500.0, 3500.0, false},
        {"the drag area", "m2", moving.drag_area_m2, 0.2, 2.0, false},
        {"the rolling resistance", "", moving.rolling, 0.005, 0.05, false},
        {"the torque", "Nm", moving.torque_nm, 40.0, 800.0, false},
        {"the engine braking", "Nm", moving.overrun_nm, 1.0, 100.0, false},
        {"the engine braking for 1000 rpm", "Nm", moving.overrun_krpm, 0.0, 50.0, false},
        {"the engine's inertia", "kg m2", moving.inertia_kgm2, 0.02, 1.0, false},
        {"the stalling speed", "rpm", moving.stall_rpm, 200.0, moving.idle_rpm, false},
    };
    return sl_ranges_check(moves, sizeof moves / sizeof moves[0], car->name, error);
}

void sl_car_clear(struct sl_car *car)
{
    free(car->name);
    free(car->title);
    *car = (struct sl_car){0};
}
