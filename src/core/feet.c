#include "core/feet.h"

#include "core/braking.h"
#include "core/units.h"

#include <assert.h>
#include <math.h>

#define RADPS_PER_RPM (2.0 * SL_PI / 60.0)

/* All of this: common practice, no source. */
#define CLUTCH_DOWN_S 0.15 /* pedal to the floor */
#define CLUTCH_UP_S 0.4    /* and up again */
#define CLUTCH_HOLDS 1.6   /* times the engine's torque that a clutch can pass on */
#define BITE_S 1.0         /* slipped while it comes up after a change, ... */
#define PULL_AWAY_S 3.0    /* ... and when pulling away */
#define BITE_REVS 1.15     /* times the judder speed: the engine while the clutch slips */
#define CHANGE_REVS 1.2    /* times idling: the engine during a change */
#define DIP_REVS 1.05      /* times idling: then the clutch goes down */
#define WALKING_REVS 1.6   /* times idling: no faster is the clutch slipped to hold a speed */
#define APPROACH_REVS 1.4  /* times the judder speed: the gear that a car comes in */
#define REV_TIME_S 0.1     /* how soon the foot has the engine at a speed */
#define HOLD_TIME_S 0.5    /* how soon the foot has the car at a speed */
#define GENTLY_MPS2 1.0    /* the most that it speeds up */
#define REACHED_MPS 0.02   /* a speed is reached */
#define CRAWL_MPS (5.0 * SL_MPS_PER_MPH) /* a car that only rolls is kept at a walking pace */
#define LEAST_RATE_MPS2 0.3              /* of slowing, downhill or where none is planned */

int sl_feet_approach_gear(const struct sl_car *car, double speed_mps)
{
    const double least_rpm[] = {APPROACH_REVS * car->judder_rpm, car->judder_rpm};
    for (size_t i = 0; i < 2; i++) {
        for (int gear = car->n_gears; gear > 1; gear--) {
            if (sl_engine_rpm(car, speed_mps, gear) >= least_rpm[i]) {
                return gear;
            }
        }
    }
    return 1;
}

void sl_feet_make(const struct sl_car *car, const struct sl_plan *plan,
                  const struct sl_timing *timing, double gradient, struct sl_feet *feet)
{
    *feet = (struct sl_feet){.plan = plan,
                             .timing = timing,
                             .mover = sl_mover_make(car, gradient),
                             .gradient = gradient,
                             .judder_radps = car->judder_rpm * RADPS_PER_RPM,
                             .aim_mps = plan->approach_mps,
                             .gear = sl_feet_approach_gear(car, plan->approach_mps),
                             .pedal = 1.0,
                             .asks = true};
}

static void change_gear(struct sl_feet *feet, int gear)
{
    if (gear >= 1 && gear <= feet->mover.n_gears) {
        feet->gear = gear;
        feet->changing_s = fmax(feet->timing->gear_change_s, CLUTCH_DOWN_S + CLUTCH_UP_S);
    }
}

static void call_clutch(struct sl_feet *feet, enum sl_clutch clutch)
{
    if (clutch == SL_CLUTCH_UNSAID) {
        return;
    }
    feet->clutch_down = clutch == SL_CLUTCH_DOWN;
    feet->lets_up = false;
    if (clutch == SL_CLUTCH_UP) {
        feet->dipped = false;
        feet->biting_s = BITE_S;
    }
}

static double turn_of(const struct sl_feet *feet)
{
    return feet->mover.turn_radpm[feet->gear - 1];
}

/* Whether slipping the clutch would keep the speed. */
static bool can_creep(const struct sl_feet *feet)
{
    return feet->gear == 1 &&
           feet->aim_mps * turn_of(feet) <= WALKING_REVS * feet->mover.idle_radps;
}

static void decide(struct sl_feet *feet, const struct sl_motion *motion, enum sl_decision decision)
{
    if (decision == SL_DECISION_WAIT) {
        feet->stopping = true;
        feet->lets_up = false;
    } else if (decision == SL_DECISION_GO) {
        bool stands = motion->speed_mps <= 0.0;
        feet->stopping = false;
        if (stands || (feet->clutch_down && !can_creep(feet))) {
            feet->dipped = false;
            feet->lets_up = true;
            feet->biting_s = stands ? PULL_AWAY_S : BITE_S;
        }
    }
}

/* As gently as planned; more firmly where the slowing would end behind the planned place. */
static double slowing_rate(const struct sl_feet *feet, const struct sl_motion *motion)
{
    const struct sl_plan *plan = feet->plan;
    double gentle = plan->slowing_mps2 > 0.0
                        ? plan->slowing_mps2
                        : sl_rate_on_gradient_mps2(feet->timing->comfort_mps2, feet->gradient);
    gentle = fmax(gentle, LEAST_RATE_MPS2);
    double firm = fmax(sl_rate_on_gradient_mps2(feet->timing->firm_mps2, feet->gradient), gentle);
    double room_m = plan->distance_m - motion->driven_m - plan->gear_m;
    double speed_mps = motion->speed_mps;
    double needed = room_m > 0.0
                        ? (speed_mps * speed_mps - feet->aim_mps * feet->aim_mps) / (2.0 * room_m)
                        : firm;
    return fmin(fmax(needed, gentle), firm);
}

/* A gear that is called now is meant for when the slowing is done. */
static bool waits(const struct sl_feet *feet, const struct sl_motion *motion, bool speeds)
{
    double left_s = (motion->speed_mps - feet->aim_mps) / slowing_rate(feet, motion);
    return feet->slowing && (speeds || left_s <= feet->timing->early_s);
}

void sl_feet_hear(struct sl_feet *feet, const struct sl_motion *motion,
                  const struct sl_settings *said, const struct sl_phase *phase)
{
    bool speeds = (phase->carries & SL_SET_SPEED) != 0;
    if (said->speed_mps > 0.0) {
        feet->aim_mps = said->speed_mps;
        feet->slowing = motion->speed_mps > said->speed_mps + REACHED_MPS;
        feet->lifted = false;
        feet->speed_named = true;
    } else if (speeds && sl_settings_named(said) == 0 && !feet->speed_named) {
        feet->lifted = motion->speed_mps > CRAWL_MPS;
        feet->aim_mps = feet->lifted ? CRAWL_MPS : feet->aim_mps;
    }
    feet->gear_called = said->gear > 0 ? said->gear : feet->gear_called;
    if (waits(feet, motion, speeds)) {
        feet->gear_next = said->gear > 0 ? said->gear : feet->gear_next;
        feet->clutch_next = said->clutch != SL_CLUTCH_UNSAID ? said->clutch : feet->clutch_next;
    } else {
        call_clutch(feet, said->clutch);
        change_gear(feet, said->gear);
    }
    decide(feet, motion, said->decision);
}

/* Holds on until a gentle stop is due. */
static double stopping_rate(const struct sl_feet *feet, const struct sl_motion *motion)
{
    double room_m = feet->plan->distance_m - motion->driven_m - SL_FEET_STOP_M;
    double speed_mps = motion->speed_mps;
    double needed = room_m > 0.0 ? speed_mps * speed_mps / (2.0 * room_m) : SL_FEET_HARDEST_MPS2;
    return needed < feet->timing->comfort_mps2 ? 0.0 : fmin(needed, SL_FEET_HARDEST_MPS2);
}

/* The change of speed that is wanted, in m/s2. */
static double wanted_mps2(const struct sl_feet *feet, const struct sl_motion *motion)
{
    double stop = feet->stopping ? stopping_rate(feet, motion) : 0.0;
    if (!motion->running) {
        return -fmax(feet->timing->firm_mps2, stop);
    }
    if (feet->slowing) {
        return -fmax(slowing_rate(feet, motion), stop);
    }
    if (stop > 0.0) {
        return -stop;
    }
    double hold = (feet->aim_mps - motion->speed_mps) / HOLD_TIME_S;
    return fmin(fmax(hold, -feet->timing->comfort_mps2), GENTLY_MPS2);
}

/* The stop at the line is under way, or the car stands there. */
static bool stops(const struct sl_feet *feet, const struct sl_motion *motion)
{
    return feet->stopping && (motion->speed_mps <= 0.0 || stopping_rate(feet, motion) > 0.0);
}

bool sl_feet_hold_down(const struct sl_feet *feet)
{
    return feet->clutch_down && !feet->lets_up;
}

/* Slipping the clutch in first gear keeps a walking pace. */
static bool creeps(const struct sl_feet *feet, const struct sl_motion *motion)
{
    return sl_feet_hold_down(feet) && feet->changing_s <= 0.0 && !stops(feet, motion) &&
           !feet->slowing && motion->speed_mps < feet->aim_mps && can_creep(feet);
}

/* Slipping it while it comes up keeps the engine from judder, for as long as feet do that. */
static bool bites(const struct sl_feet *feet, const struct sl_motion *motion)
{
    bool comes_up = !sl_feet_hold_down(feet) && !feet->dipped && feet->changing_s <= 0.0 &&
                    !feet->slowing && feet->biting_s > 0.0;
    return motion->running &&
           (creeps(feet, motion) ||
            (comes_up && motion->speed_mps * turn_of(feet) < feet->judder_radps));
}

/* What the time and the speed bring about, before the pedals move. */
static void settle(struct sl_feet *feet, const struct sl_motion *motion, double step_s)
{
    double shaft_radps = motion->speed_mps * turn_of(feet);
    if (feet->slowing && motion->speed_mps <= feet->aim_mps + REACHED_MPS) {
        feet->slowing = false;
        feet->waited_s = 0.0;
        call_clutch(feet, feet->clutch_next);
        change_gear(feet, feet->gear_next);
        feet->gear_next = 0;
        feet->clutch_next = SL_CLUTCH_UNSAID;
    }
    bool brakes = feet->slowing || feet->lifted || stops(feet, motion) || !motion->running;
    if (brakes && shaft_radps < DIP_REVS * feet->mover.idle_radps) {
        feet->dipped = true;
    }
    feet->lifted = feet->lifted && motion->speed_mps > feet->aim_mps;
    if (feet->dipped && !brakes && feet->changing_s <= 0.0) {
        feet->waited_s += step_s;
        if (feet->waited_s > SL_FEET_PATIENCE_S) {
            feet->dipped = false;
            feet->biting_s = BITE_S;
        }
    }
    if (feet->changing_s > 0.0) {
        feet->changing_s -= step_s;
        if (feet->changing_s <= 0.0) {
            feet->changing_s = 0.0;
            feet->dipped = feet->dipped && brakes;
            feet->biting_s = BITE_S;
        }
    }
}

/* Moves the pedal; true when the lever is out of gear. */
static bool move_pedal(struct sl_feet *feet, double step_s)
{
    bool shifting = feet->changing_s > CLUTCH_UP_S;
    bool down = sl_feet_hold_down(feet) || shifting || (feet->dipped && feet->changing_s <= 0.0);
    feet->pedal = down ? fmax(feet->pedal - step_s / CLUTCH_DOWN_S, 0.0)
                       : fmin(feet->pedal + step_s / CLUTCH_UP_S, 1.0);
    return shifting;
}

static double rev_nm(const struct sl_feet *feet, const struct sl_motion *motion, double to_radps)
{
    return (to_radps - motion->engine_radps) * feet->mover.inertia_kgm2 / REV_TIME_S;
}

/* The clutch at the biting point passes on what the car needs. */
static void bite(struct sl_feet *feet, const struct sl_motion *motion, double need_n,
                 struct sl_controls *controls)
{
    double shaft_radps = motion->speed_mps * turn_of(feet);
    double revs_radps = fmax(BITE_REVS * feet->judder_radps, 1.05 * shaft_radps);
    double most_nm = 0.9 * sl_mover_pull_nm(&feet->mover, motion->engine_radps);
    controls->clutch_nm = fmin(fmax(need_n / turn_of(feet), 0.0), most_nm);
    controls->engine_nm = controls->clutch_nm + rev_nm(feet, motion, revs_radps);
    controls->brake_n = fmax(-need_n, 0.0);
    feet->pedal = sqrt(controls->clutch_nm / (CLUTCH_HOLDS * feet->mover.torque_nm));
    feet->asks = true;
}

/* With the clutch up the engine pulls or holds back, and the brakes do the rest. */
static void drive(struct sl_feet *feet, const struct sl_motion *motion, double want_mps2,
                  struct sl_controls *controls)
{
    const struct sl_mover *mover = &feet->mover;
    double n = turn_of(feet);
    double mass_kg = mover->mass_kg + mover->inertia_kgm2 * n * n;
    double need_n = mass_kg * want_mps2 + sl_mover_resistance_n(mover, motion->speed_mps);
    double off_nm = motion->running ? sl_mover_foot_off_nm(mover, motion->engine_radps) : 0.0;
    controls->engine_nm = feet->lifted ? off_nm : need_n / n;
    controls->brake_n = feet->lifted ? 0.0 : fmax(n * off_nm - need_n, 0.0);
    feet->asks = controls->engine_nm > off_nm;
}

struct sl_controls sl_feet_move(struct sl_feet *feet, const struct sl_motion *motion, double step_s)
{
    const struct sl_mover *mover = &feet->mover;
    settle(feet, motion, step_s);
    double want_mps2 = wanted_mps2(feet, motion);
    double need_n = mover->mass_kg * want_mps2 + sl_mover_resistance_n(mover, motion->speed_mps);
    struct sl_controls controls = {.gear = feet->gear};
    if (bites(feet, motion)) {
        bite(feet, motion, need_n, &controls);
        feet->biting_s = fmax(feet->biting_s - step_s, 0.0);
        return controls;
    }
    if (move_pedal(feet, step_s)) {
        controls.gear = 0;
    }
    double grip = feet->pedal * feet->pedal;
    controls.clutch_nm = grip * CLUTCH_HOLDS * mover->torque_nm;
    if (motion->grips && controls.clutch_nm > 0.0) {
        drive(feet, motion, want_mps2, &controls);
    } else {
        controls.engine_nm = rev_nm(feet, motion, CHANGE_REVS * mover->idle_radps);
        controls.brake_n = feet->lifted ? 0.0 : fmax(-need_n, 0.0);
        feet->asks = false;
    }
    if (feet->changing_s > 0.0 && !feet->stopping) {
        controls.brake_n = 0.0; /* nobody brakes and changes gear at once */
    }
    return controls;
}
