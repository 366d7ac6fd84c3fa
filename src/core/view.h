/*
 * From what hides the major road to the distance at which enough of it is seen.
 *
 * Plan view: the driver's eye comes along the minor road's centre line towards the edge of the
 * major road. A corner (hedge, wall, parked van) stands `set_back_m` before that edge and
 * `offset_m` to the side of the path. From s metres before the edge (s > set-back) the line over
 * the corner meets the edge y = offset * s / (s - set_back) metres along the major road (similar
 * triangles). Before the corner is passed y shrinks with s; at s <= set_back nothing hides the
 * road.
 */
#ifndef SL_CORE_VIEW_H
#define SL_CORE_VIEW_H

#include "core/status.h"

#include <stdbool.h>

/* One side. set_back_m 0 with offset_m 0 means that nothing hides the road on this side. */
struct sl_corner {
    double set_back_m; /* from the edge of the major road back along the minor road, 0 to 100 */
    double offset_m;   /* from the driver's path sideways, 0 to 100 (more than 0 if set back) */
};

struct sl_sight {
    struct sl_corner left;
    struct sl_corner right;
    double major_mps; /* speed of traffic on the major road, more than 0, at most 70 mph */
};

/* The eye is this far behind the front of the car: usual x-distance of a visibility splay,
 * 2.4 m (Manual for Streets, DfT 2007; DCAN 15, DOE NI, 1999). */
#define SL_EYE_BEHIND_FRONT_M 2.4

/* Distance seen along the major road's edge from an eye `eye_m` before that edge. INFINITY where
 * nothing hides the road. eye_m >= 0. */
double sl_seen_along_m(const struct sl_corner *corner, double eye_m);

/* How far along the major road must be seen: the stopping sight distance at its speed, with the
 * bonnet allowance of 2.4 m. Manual for Streets (2007) table 7.1: v t + v^2 / (2 d), t 1.5 s,
 * d 4.41 m/s2 up to 60 km/h; above that the same formula is used (coaching figure). */
double sl_sight_needed_m(double major_mps);

/*
 * The distance of the car's front from the line at which `needed_m` of the major road is seen on
 * both sides: the smaller of the two sides' eye distances less SL_EYE_BEHIND_FRONT_M, not below 0.
 * INFINITY where nothing hides it.
 */
double sl_sight_from_line_m(const struct sl_sight *sight, double needed_m);

/* Ranges of the fields above; SL_INVALID with the value and the mend. */
enum sl_status sl_sight_check(const struct sl_sight *sight, struct sl_error *error);

#endif
