/*
 * How a car moves along the road: one step of time after the other, from what the feet do.
 *
 * The car is a mass m with speed v on a slope, and an engine of inertia J with speed w, joined by
 * the clutch and the gears: n = gear x final drive / wheel radius is the engine's turn for a metre.
 *
 *   m dv/dt = n Tc - brake - m g (rolling cos a + sin a) - air density / 2 x drag area x v^2
 *   J dw/dt = Te - Tc
 *
 * Te is the engine's torque, Tc what the clutch passes on: while it slips, all that it can hold, in
 * the direction of the slip; while it grips, w = n v and the two equations are one, of the mass
 * m + J n^2. Gripping after a slip keeps the momentum (m v + n J w) and loses the energy of the
 * slip, as two bodies do that stick. Rolling resistance and brake only ever hold the car back. It
 * never rolls backwards: at rest the driver holds it.
 *
 * Between changes of what grips, the midpoint method (second order), with metres from the mean
 * speed of the step: then what the forces do over these metres is the change of energy exactly, and
 * an energy account must balance.
 */
#ifndef SL_CORE_MOTION_H
#define SL_CORE_MOTION_H

#include "core/car.h"

#include <stdbool.h>

/* Density of air at 15 degrees and sea level, ISO 2533. */
#define SL_AIR_KGPM3 1.225

/* How long a step is; what follows from it is the same to 1 % for ten times as many (tests). */
#define SL_MOTION_STEP_S 0.01

/* What of the car and the road is needed, computed once. */
struct sl_mover {
    double mass_kg, inertia_kgm2;
    double drag_kgpm;               /* force of the air / v^2 */
    double rolling_n, uphill_n;     /* rolling resistance; weight along the road, uphill positive */
    double rise;                    /* metres up for one along the road */
    double turn_radpm[SL_GEAR_MAX]; /* n of each gear */
    int n_gears;
    double torque_nm;               /* the most that the engine pulls */
    double overrun_nm, overrun_nms; /* engine braking at rest, and for one rad/s more */
    double idle_radps, stall_radps;
};

/* What the feet and the left hand do. */
struct sl_controls {
    int gear;         /* 1 to n_gears; 0: the lever is between gears */
    double clutch_nm; /* the most that the clutch can pass on; 0: pedal down */
    double engine_nm; /* asked of the engine; no less than foot off gives, no more than it can */
    double brake_n;   /* force of the brakes */
};

/* Initialise with sl_motion_start. */
struct sl_motion {
    double time_s, driven_m;
    double speed_mps;    /* 0 or more, always */
    double engine_radps; /* 0 or more */
    bool running;        /* false: stalled */
    bool grips;          /* the clutch, without slip, in gear `gripped` */
    int gripped;
    double
        jolt_mps2; /* what the slipping clutch does to the car in this step; negative: it drags */
    /* The account, in joules since the start: what the engine gave (less what it took), and what
     * brakes, air, rolling and clutch turned to heat. */
    double engine_j, lost_j;
};

/* gradient is a fraction, uphill positive. The car must have passed sl_car_check. */
struct sl_mover sl_mover_make(const struct sl_car *car, double gradient);

/* Engine torque in N m at a speed in rad/s: the most that it pulls (less below 2000 rpm: 35 % at
 * rest; common shape, no source), and what it gives with the foot off: it holds itself at idle
 * and brakes the more the faster it turns. */
double sl_mover_pull_nm(const struct sl_mover *mover, double engine_radps);
double sl_mover_foot_off_nm(const struct sl_mover *mover, double engine_radps);

/* All that holds the car back at this speed but the brakes, in N: rolling, air, the slope (which
 * may push instead). */
double sl_mover_resistance_n(const struct sl_mover *mover, double speed_mps);

/* Driving at a speed in a gear (1 to n_gears), clutch up. */
void sl_motion_start(const struct sl_mover *mover, double speed_mps, int gear,
                     struct sl_motion *motion);

/* One step of step_s (more than 0, at most 0.1) with the controls held. The moments at which the
 * clutch grips and car or engine come to rest are found within it. */
void sl_motion_step(const struct sl_mover *mover, const struct sl_controls *controls, double step_s,
                    struct sl_motion *motion);

/* Kinetic energy of the car and the engine, and potential energy from where it started, in J. */
double sl_motion_energy_j(const struct sl_mover *mover, const struct sl_motion *motion);

/* Engine speed in revolutions a minute. */
double sl_motion_rpm(const struct sl_motion *motion);

#endif
