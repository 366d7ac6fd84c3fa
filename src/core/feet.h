/*
 * The driver's feet and left hand: they do what was said and keep what was not spoken of as it is.
 *
 * Nothing said, nothing happens: the accelerator holds the speed at which the car came. What words
 * do:
 *
 * A speed: they brake as gently as the plan does, and more firmly the later it is said, so that the
 * slowing ends where the plan wants the gear, up to the firm rate; then the speed is held. Without
 * a figure ("slow down") only the foot comes off the accelerator, unless one was named before.
 *
 * A gear: changed at once. The foot leaves the brake, the clutch goes down, the lever moves, the
 * clutch comes up, all in the routine's time for a change. Called no more than the routine's
 * early_s before the slowing is done, it waits for that; so it does where the routine names gear
 * and speed in one phase.
 *
 * The clutch goes up or down and stays there. Wait, stop: they stop at the line, gently where there
 * is room and hard where there is not. Go: they go on, and pull away where the car stands; a clutch
 * that was called down comes up then, unless slipping it keeps the speed. Mirrors, signal and
 * position move no foot.
 *
 * What feet do by themselves (common practice, no source): while braking, the clutch goes down
 * before the engine falls below idling; when the slowing is done it waits SL_FEET_PATIENCE_S for a
 * gear and then comes up in the gear that is in. A clutch that is called down in first gear at a
 * walking pace comes up to the biting point when the car gets too slow. A stalled car is stopped.
 */
#ifndef SL_CORE_FEET_H
#define SL_CORE_FEET_H

#include "core/motion.h"
#include "core/plan.h"
#include "core/routine.h"

#define SL_FEET_PATIENCE_S 2.5

/* Where the feet stop the car: this far before the line. Ours, no source. */
#define SL_FEET_STOP_M 0.5

/* The hardest they brake: that of the Highway Code's braking distances, 20 ft at 20 mph. */
#define SL_FEET_HARDEST_MPS2 6.56

/* Initialise with sl_feet_make; owns nothing, `plan` and `timing` must outlive it. */
struct sl_feet {
    const struct sl_plan *plan;
    const struct sl_timing *timing;
    struct sl_mover mover;
    double gradient, judder_radps;
    double aim_mps;    /* held, or slowed down to */
    bool slowing;      /* towards it */
    bool lifted;       /* foot off the accelerator, no speed named */
    bool speed_named;  /* before: then words without a figure leave it as it is */
    bool stopping;     /* to the line */
    int gear;          /* in, or on its way in */
    double changing_s; /* left of the change; 0: none under way */
    int gear_next;     /* once the slowing is done; 0: none */
    int gear_called;   /* the last one; 0: none */
    enum sl_clutch clutch_next;
    bool clutch_down; /* as it was called */
    bool lets_up;     /* all the same, to go */
    bool dipped;      /* down by the feet themselves */
    double waited_s;  /* dipped after the slowing */
    double biting_s;  /* left of slipping the clutch while it comes up */
    double pedal;     /* 0 down to 1 up */
    bool asks;        /* the foot is on the accelerator: the engine pulls, or is to hold */
};

/* The gear that a car comes in: the highest in which the engine turns well above its judder speed.
 */
int sl_feet_approach_gear(const struct sl_car *car, double speed_mps);

/* Driving along at the plan's approach speed. `car` has passed its check. */
void sl_feet_make(const struct sl_car *car, const struct sl_plan *plan,
                  const struct sl_timing *timing, double gradient, struct sl_feet *feet);

/* Something was said; `phase` carries it. */
void sl_feet_hear(struct sl_feet *feet, const struct sl_motion *motion,
                  const struct sl_settings *said, const struct sl_phase *phase);

/* Whether the clutch is down because it was called so. */
bool sl_feet_hold_down(const struct sl_feet *feet);

/* What they do in the next step of step_s. */
struct sl_controls sl_feet_move(struct sl_feet *feet, const struct sl_motion *motion,
                                double step_s);

#endif
