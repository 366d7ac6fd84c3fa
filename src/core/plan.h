/*
 * The approach plan: when and where each phase opens, is due and closes.
 *
 * Built backwards from the line: rolling at target speed, the gear change at target speed, slowing
 * from approach speed at a comfortable rate corrected for the gradient, then position, signal and
 * mirrors at approach speed. Time 0 is the announcement of the junction; the front of the car
 * reaches the line at line_s. Distances are metres from the line to the front of the car. Coaching
 * figures, not limits.
 */
#ifndef SL_CORE_PLAN_H
#define SL_CORE_PLAN_H

#include "core/car.h"
#include "core/junction.h"
#include "core/routine.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/*
 * When a phase may be said. All times are on the practice clock, the metres say where the planned
 * car is at those times. By moment:
 *  mirrors   open from the announcement; due one step a phase before the slowing
 *  signal,   open early_s before the phase in front of it is due; due as above;
 *  position  all three close when what follows is due
 *  brake     opens early_s before slowing begins, which is when it is due; closes when slowing at
 *            the firm rate, with no spare rolling, only just leaves the rolling and the gear change
 *  gear      opens early_s before slowing is finished, which is when it is due; closes when the
 *            change only just leaves the rolling that the routine asks for
 *  decide    opens when the gear change is finished. Open view: due halfway from there to the last
 *            point at which a stop still fits, where it closes. Closed view: due when enough is
 *            seen. Stop line: due at the line. Both close at_line_s after the line.
 */
struct sl_window {
    double opens_s, due_s, closes_s;
    double opens_m, due_m, closes_m; /* 0 past the line */
};

/* What to give up when the approach is too short, in the order in which it is tried. */
enum sl_give_up {
    SL_GIVE_UP_NOTHING, /* "nothing": it fits */
    SL_GIVE_UP_MARGIN,  /* "margin": the spare rolling time, or a part of it */
    SL_GIVE_UP_GENTLE,  /* "gentle-braking": slow more firmly, up to the firm rate */
    SL_GIVE_UP_PAUSES,  /* "pauses": mirrors, signal and position follow each other faster, down to
                           one a second */
    SL_GIVE_UP_SPEED    /* "speed": approach more slowly, at most `fitting_mps` */
};

const char *sl_give_up_word(enum sl_give_up give_up);

struct sl_plan {
    enum sl_view view; /* as stated, or resolved from the measured sight */
    double see_m;      /* from here enough of the major road is seen; INFINITY: from the start */
    double see_s;      /* the moment of that; 0: from the start */
    double sight_needed_m; /* along the major road; 0 when the view was stated, not measured */
    double approach_mps, target_mps;
    /* Announcement to line: as given, or as the plan needs, rounded up to 10 m. Down a hill so
     * steep that a gentle slowing takes longer than SL_DISTANCE_MAX_M, as a firm one needs. */
    double distance_m;
    double needed_m;     /* the shortest approach in which everything fits with nothing given up;
                            INFINITY where the comfortable rate never slows the car on the gradient */
    double slowing_mps2; /* actual rate, gradient in it; 0: no slowing. With SL_GIVE_UP_SPEED it may
                            be harder than the firm rate: what the stated speed would take */
    double brake_s, brake_m;               /* slowing begins */
    double gear_s, gear_m;                 /* slowing is finished */
    double rolling_from_s, rolling_from_m; /* the gear change is finished */
    double line_s;
    double stop_by_s, stop_by_m; /* the last point at which a stop at the firm rate still fits,
                                    reaction included; the announcement where none does */
    int gear;                    /* called by the routine for this view */
    double engine_rpm;           /* in that gear at target speed, clutch up */
    bool judder;             /* the clutch stays up and engine_rpm is below the car's judder_rpm */
    bool long_enough;        /* nothing given up */
    enum sl_give_up give_up; /* the furthest that had to be gone */
    double fitting_mps; /* with SL_GIVE_UP_SPEED: the highest approach speed that fits, else 0 */
    struct sl_window windows[SL_PHASE_MAX]; /* by routine phase */
    size_t n_windows;
};

/*
 * Computes the plan. junction, routine and car must have passed their checks. A measured sight is
 * open when enough of the major road is seen by the point at which the open plan wants the
 * decision, else closed; it is closed, too, when only a closed plan can be made. SL_INVALID when no
 * plan exists at any speed (approach below target speed, too steep to slow down, too short for the
 * rolling and the shortest pauses, a gear that the car lacks), with the mend. opens <= due <=
 * closes and due in routine order hold for every plan of a routine whose phases follow the moments'
 * order. Where the approach is too short the plan is still made, as good as it can be, with give_up
 * saying what went.
 */
enum sl_status sl_plan_make(const struct sl_junction *junction, const struct sl_routine *routine,
                            const struct sl_car *car, struct sl_plan *plan, struct sl_error *error);

/* Distance from the line at a time on the plan's clock (0 from line_s on; before the announcement
 * the car is further away), and speed there (target speed from gear_s on: a stop is not planned).
 */
double sl_plan_distance_m(const struct sl_plan *plan, double at_s);
double sl_plan_speed_mps(const struct sl_plan *plan, double at_s);

/* Time at which the planned car is `distance_m` from the line: the inverse of sl_plan_distance_m.
 * Negative beyond the announcement; -INFINITY for INFINITY. */
double sl_plan_time_s(const struct sl_plan *plan, double distance_m);

#endif
