/*
 * Slowing and stopping, from kinematics. Rates are positive decelerations in m/s2 on the level;
 * a gradient (fraction, uphill positive) adds g x gradient, as in Manual for Streets' 0.1a.
 */
#ifndef SL_CORE_BRAKING_H
#define SL_CORE_BRAKING_H

/* The rate that the same braking effort gives on a gradient: rate + g x gradient. May be <= 0
 * downhill: then that effort never slows the car. */
double sl_rate_on_gradient_mps2(double rate_mps2, double gradient);

/* Distance to slow from one speed to another: (from^2 - to^2) / (2 rate). 0 when from <= to;
 * INFINITY when rate <= 0. */
double sl_slowing_distance_m(double from_mps, double to_mps, double rate_mps2);

/* Time for the same: (from - to) / rate. Same edge cases. */
double sl_slowing_time_s(double from_mps, double to_mps, double rate_mps2);

/* Reaction distance plus slowing distance to rest: v t + v^2 / (2 rate). */
double sl_stopping_distance_m(double speed_mps, double reaction_s, double rate_mps2);

#endif
