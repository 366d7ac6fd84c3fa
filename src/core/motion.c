#include "core/motion.h"

#include "core/units.h"

#include <assert.h>
#include <math.h>

#define RADPS_PER_RPM (2.0 * SL_PI / 60.0)
#define RPM_PER_KRPM 1000.0

/* From here on the engine pulls all it can; at rest this share of it. */
#define FULL_PULL_RADPS (2000.0 * RADPS_PER_RPM)
#define LEAST_PULL 0.35

/* How soon an engine with the foot off finds back to its idling speed. */
#define IDLE_TIME_S 0.15

/* In one step the car and the engine come to rest and the clutch grips at most once each; what a
 * clutch that can barely hold does beyond that is left to the next step. */
#define CHANGES_MAX 6

struct sl_mover sl_mover_make(const struct sl_car *car, double gradient)
{
    const struct sl_car moving = sl_car_moving(car);
    double along = 1.0 / sqrt(1.0 + gradient * gradient); /* cosine of the slope */
    double weight_n = moving.mass_kg * SL_GRAVITY_MPS2;
    struct sl_mover mover = {
        .mass_kg = moving.mass_kg,
        .inertia_kgm2 = moving.inertia_kgm2,
        .drag_kgpm = SL_AIR_KGPM3 * moving.drag_area_m2 / 2.0,
        .rolling_n = moving.rolling * weight_n * along,
        .uphill_n = weight_n * gradient * along,
        .rise = gradient * along,
        .n_gears = moving.n_gears,
        .torque_nm = moving.torque_nm,
        .overrun_nm = moving.overrun_nm,
        .overrun_nms = moving.overrun_krpm / (RPM_PER_KRPM * RADPS_PER_RPM),
        .idle_radps = moving.idle_rpm * RADPS_PER_RPM,
        .stall_radps = moving.stall_rpm * RADPS_PER_RPM,
    };
    double radius_m = sl_tyre_diameter_m(car) / 2.0;
    for (int i = 0; i < moving.n_gears; i++) {
        mover.turn_radpm[i] = moving.gear_ratio[i] * moving.final_drive / radius_m;
    }
    return mover;
}

double sl_mover_pull_nm(const struct sl_mover *mover, double engine_radps)
{
    double share = LEAST_PULL + (1.0 - LEAST_PULL) * engine_radps / FULL_PULL_RADPS;
    return mover->torque_nm * fmin(share, 1.0);
}

static double overrun_nm(const struct sl_mover *mover, double engine_radps)
{
    return mover->overrun_nm + mover->overrun_nms * engine_radps;
}

double sl_mover_foot_off_nm(const struct sl_mover *mover, double engine_radps)
{
    double idling_nm = (mover->idle_radps - engine_radps) * mover->inertia_kgm2 / IDLE_TIME_S;
    double pull_nm = sl_mover_pull_nm(mover, engine_radps);
    return fmin(fmax(idling_nm, -overrun_nm(mover, engine_radps)), pull_nm);
}

double sl_mover_resistance_n(const struct sl_mover *mover, double speed_mps)
{
    return mover->rolling_n + mover->uphill_n + mover->drag_kgpm * speed_mps * speed_mps;
}

static double engine_nm(const struct sl_mover *mover, const struct sl_motion *motion,
                        const struct sl_controls *controls, double engine_radps)
{
    if (!motion->running) {
        return engine_radps > 0.0 ? -overrun_nm(mover, engine_radps) : 0.0;
    }
    double least_nm = sl_mover_foot_off_nm(mover, engine_radps);
    double most_nm = sl_mover_pull_nm(mover, engine_radps);
    return fmin(fmax(controls->engine_nm, least_nm), most_nm);
}

void sl_motion_start(const struct sl_mover *mover, double speed_mps, int gear,
                     struct sl_motion *motion)
{
    assert(gear >= 1 && gear <= mover->n_gears);
    *motion = (struct sl_motion){.speed_mps = speed_mps,
                                 .engine_radps = mover->turn_radpm[gear - 1] * speed_mps,
                                 .running = true,
                                 .grips = true,
                                 .gripped = gear};
}

/* The rates of change at a moment. */
struct rates {
    double car_mps2, engine_radps2;
    double clutch_nm; /* what the clutch passes on to the gears */
    double engine_nm;
};

/* What one step is computed from. */
struct step {
    const struct sl_mover *mover;
    const struct sl_controls *controls;
    const struct sl_motion *from;
    double turn_radpm; /* 0: nothing is joined */
    double slip_nm;    /* the clutch's torque while it slips, signed; 0 while it grips */
};

/* A car at rest is held back by no more than what pushes it. */
static double car_rate(const struct step *step, double speed_mps, double drive_n, double mass_kg)
{
    const struct sl_mover *mover = step->mover;
    double push_n = drive_n - mover->uphill_n;
    double hold_n =
        mover->rolling_n + step->controls->brake_n + mover->drag_kgpm * speed_mps * speed_mps;
    if (speed_mps <= 0.0 && push_n <= hold_n) {
        return 0.0;
    }
    return (push_n - hold_n) / mass_kg;
}

static struct rates rates_of(const struct step *step, double speed_mps, double engine_radps)
{
    const struct sl_mover *mover = step->mover;
    struct rates rates = {.engine_nm = engine_nm(mover, step->from, step->controls, engine_radps)};
    if (step->from->grips) {
        double n = step->turn_radpm;
        double mass_kg = mover->mass_kg + mover->inertia_kgm2 * n * n;
        rates.car_mps2 = car_rate(step, speed_mps, n * rates.engine_nm, mass_kg);
        rates.engine_radps2 = n * rates.car_mps2;
        rates.clutch_nm = rates.engine_nm - mover->inertia_kgm2 * rates.engine_radps2;
    } else {
        rates.clutch_nm = step->slip_nm;
        rates.car_mps2 =
            car_rate(step, speed_mps, step->turn_radpm * step->slip_nm, mover->mass_kg);
        rates.engine_radps2 = (rates.engine_nm - step->slip_nm) / mover->inertia_kgm2;
    }
    return rates;
}

/* Whether the clutch, which gripped, still can: in the same gear and strong enough. */
static bool holds(const struct step *step)
{
    if (step->turn_radpm <= 0.0 || step->controls->gear != step->from->gripped) {
        return false;
    }
    struct rates rates = rates_of(step, step->from->speed_mps, step->from->engine_radps);
    return fabs(rates.clutch_nm) <= step->controls->clutch_nm;
}

/* Joins car and engine at the speed that keeps the momentum. */
static void grip(const struct sl_mover *mover, int gear, struct sl_motion *motion)
{
    double n = mover->turn_radpm[gear - 1];
    double inertia = mover->inertia_kgm2;
    double before_j = sl_motion_energy_j(mover, motion);
    motion->speed_mps = (mover->mass_kg * motion->speed_mps + n * inertia * motion->engine_radps) /
                        (mover->mass_kg + inertia * n * n);
    motion->engine_radps = n * motion->speed_mps;
    motion->grips = true;
    motion->gripped = gear;
    motion->lost_j += before_j - sl_motion_energy_j(mover, motion);
}

/* A part of a step in which nothing begins or ends to grip or to move. */
static void advance(const struct step *step, double length_s, struct sl_motion *motion)
{
    const struct sl_motion from = *step->from;
    struct rates first = rates_of(step, from.speed_mps, from.engine_radps);
    double half_s = length_s / 2.0;
    struct rates rates = rates_of(step, fmax(from.speed_mps + first.car_mps2 * half_s, 0.0),
                                  fmax(from.engine_radps + first.engine_radps2 * half_s, 0.0));
    double before_j = sl_motion_energy_j(step->mover, &from);
    motion->time_s += length_s;
    motion->speed_mps = fmax(from.speed_mps + rates.car_mps2 * length_s, 0.0);
    motion->engine_radps = from.grips
                               ? step->turn_radpm * motion->speed_mps
                               : fmax(from.engine_radps + rates.engine_radps2 * length_s, 0.0);
    motion->driven_m += (from.speed_mps + motion->speed_mps) / 2.0 * length_s;
    double turned_rad = (from.engine_radps + motion->engine_radps) / 2.0 * length_s;
    double work_j = rates.engine_nm * turned_rad;
    motion->engine_j += work_j;
    motion->lost_j += work_j - (sl_motion_energy_j(step->mover, motion) - before_j);
    motion->jolt_mps2 =
        from.grips ? 0.0 : step->turn_radpm * rates.clutch_nm / step->mover->mass_kg;
}

/* When something that is `now` and changes at `rate` is gone; INFINITY: never. */
static double gone_after_s(double now, double rate)
{
    return now * rate < 0.0 ? -now / rate : INFINITY;
}

/* How the step goes on from its state: joined or not, gripping or slipping, and which way. */
static void set_up(struct step *step, struct sl_motion *from)
{
    const struct sl_controls *controls = step->controls;
    bool joined = controls->gear > 0 && controls->clutch_nm > 0.0;
    step->turn_radpm = joined ? step->mover->turn_radpm[controls->gear - 1] : 0.0;
    double slip_radps = from->engine_radps - step->turn_radpm * from->speed_mps;
    if (joined && slip_radps == 0.0) { /* at rest, every gear turns alike */
        from->grips = true;
        from->gripped = controls->gear;
    }
    if (from->grips && !holds(step)) {
        /* A clutch that gives way slips in the direction of what was too much for it. */
        struct rates rates = rates_of(step, from->speed_mps, from->engine_radps);
        slip_radps = controls->gear == from->gripped ? rates.clutch_nm : slip_radps;
        from->grips = false;
    }
    step->slip_nm = joined && !from->grips ? copysign(controls->clutch_nm, slip_radps) : 0.0;
}

/* Up to the next moment at which the car comes to rest, a stalled engine does, or the clutch
 * grips, or to the end of the step; returns how long that was. */
static double advance_to_change(const struct sl_mover *mover, const struct sl_controls *controls,
                                double left_s, struct sl_motion *motion)
{
    struct sl_motion from = *motion;
    struct step step = {.mover = mover, .controls = controls, .from = &from};
    set_up(&step, &from);
    motion->grips = from.grips;
    motion->gripped = from.gripped;
    struct rates rates = rates_of(&step, from.speed_mps, from.engine_radps);
    double slip_radps = from.engine_radps - step.turn_radpm * from.speed_mps;
    double slip_rate = rates.engine_radps2 - step.turn_radpm * rates.car_mps2;
    double car_s = gone_after_s(from.speed_mps, rates.car_mps2);
    double engine_s = from.grips ? INFINITY : gone_after_s(from.engine_radps, rates.engine_radps2);
    double grip_s = step.slip_nm != 0.0 ? gone_after_s(slip_radps, slip_rate) : INFINITY;
    double length_s = fmin(fmin(left_s, grip_s), fmin(car_s, engine_s));
    advance(&step, length_s, motion);
    if (length_s >= car_s) {
        motion->speed_mps = 0.0;
        motion->engine_radps = from.grips ? 0.0 : motion->engine_radps;
    }
    if (length_s >= engine_s) {
        motion->engine_radps = 0.0;
    }
    if (length_s >= grip_s) {
        grip(step.mover, step.controls->gear, motion);
    }
    if (motion->running && motion->engine_radps < step.mover->stall_radps) {
        motion->running = false;
    }
    return length_s;
}

void sl_motion_step(const struct sl_mover *mover, const struct sl_controls *controls, double step_s,
                    struct sl_motion *motion)
{
    double end_s = motion->time_s + step_s;
    double left_s = step_s;
    for (int change = 0; change < CHANGES_MAX && left_s > 0.0; change++) {
        left_s -= advance_to_change(mover, controls, left_s, motion);
    }
    motion->time_s = end_s;
}

double sl_motion_energy_j(const struct sl_mover *mover, const struct sl_motion *motion)
{
    return (mover->mass_kg * motion->speed_mps * motion->speed_mps +
            mover->inertia_kgm2 * motion->engine_radps * motion->engine_radps) /
               2.0 +
           mover->mass_kg * SL_GRAVITY_MPS2 * mover->rise * motion->driven_m;
}

double sl_motion_rpm(const struct sl_motion *motion)
{
    return motion->engine_radps / RADPS_PER_RPM;
}
