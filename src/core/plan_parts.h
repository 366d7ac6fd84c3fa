/*
 * The parts of which plan.c is made; for plan*.c only.
 *
 * The approach in short: the car drives at approach speed past the phases before the slowing, slows
 * at one rate, changes gear and rolls to the line at target speed. A pace says how generously. What
 * is given up where the approach is short is one number: 0 nothing, up to 1 the spare rolling time,
 * up to 2 gentle braking, up to 3 the pauses, up to 4 approach speed. The shortest approach at a
 * pace shrinks steadily with that number, so that the least that must be given up is found by
 * bisection.
 */
#ifndef SL_CORE_PLAN_PARTS_H
#define SL_CORE_PLAN_PARTS_H

#include "core/plan.h"

#include <stdbool.h>
#include <stddef.h>

/* The most that can be given up. */
#define SL_GIVEN_UP_ALL ((double)SL_GIVE_UP_SPEED)

/* What a plan has to reckon with, gradient in the rates. */
struct sl_demand {
    const struct sl_timing *timing; /* not owned */
    double approach_mps, target_mps;
    double comfort_mps2, firm_mps2; /* comfort may be <= 0 downhill; firm is more than 0 */
    size_t n_before;                /* phases before the slowing */
};

/* How the approach is driven. */
struct sl_pace {
    double approach_mps;
    double margin_s;   /* rolling on top of what the routine asks */
    double rate_mps2;  /* slowing */
    double step_s;     /* from one phase before the slowing to the next */
    double announce_s; /* from the announcement to the first of them */
};

/* The pace when so much is given up (0 to SL_GIVEN_UP_ALL). */
struct sl_pace sl_pace_given_up(const struct sl_demand *demand, double given_up);

/* From the line back to where slowing is finished. */
double sl_pace_gear_m(const struct sl_demand *demand, const struct sl_pace *pace);

/* The shortest approach at this pace; INFINITY when its rate never slows the car. */
double sl_pace_needed_m(const struct sl_demand *demand, const struct sl_pace *pace);

/* The shortest approach for which any plan exists: everything given up. */
double sl_demand_least_m(const struct sl_demand *demand);

/* What a junction without a distance gets: the shortest approach with nothing given up, rounded up
 * to 10 m. Where that is longer than SL_DISTANCE_MAX_M, what gentle braking and then the pauses
 * give up is taken off; never less than sl_demand_least_m. */
double sl_demand_suggest_m(const struct sl_demand *demand);

/* The least that must be given up in an approach of distance_m (at least sl_demand_least_m). */
double sl_demand_fit(const struct sl_demand *demand, double distance_m);

/*
 * Puts times, distances and the rate of the plan's course into it, from the line backwards: fields
 * brake_s to line_s and slowing_mps2. Where the pace's slowing does not fit into distance_m,
 * slowing begins at the announcement and is as hard as the distance asks.
 */
void sl_course_lay(const struct sl_demand *demand, const struct sl_pace *pace,
                   struct sl_plan *plan);

/* Puts the last point from which a stop still fits into a plan whose course is laid. */
void sl_course_stop_by(const struct sl_demand *demand, struct sl_plan *plan);

/* Where the decision is due with an open view, by the clock of a plan whose course is laid. */
double sl_open_decision_s(const struct sl_plan *plan);

/* Puts the windows into a plan whose course is laid and whose view is resolved. */
void sl_windows_lay(const struct sl_demand *demand, const struct sl_pace *pace,
                    const struct sl_routine *routine, bool decide_at_line, struct sl_plan *plan);

/* Whether a phase of this moment comes before the slowing, at approach speed. */
bool sl_moment_before_slowing(enum sl_moment moment);

#endif
