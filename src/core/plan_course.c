#include "core/braking.h"
#include "core/plan_parts.h"

#include <math.h>

#define BISECTIONS 60

void sl_course_lay(const struct sl_demand *demand, const struct sl_pace *pace, struct sl_plan *plan)
{
    const struct sl_timing *timing = demand->timing;
    double from_mps = plan->approach_mps;
    double to_mps = plan->target_mps;
    plan->gear_m = sl_pace_gear_m(demand, pace);
    plan->rolling_from_m = to_mps * (timing->rolling_s + pace->margin_s);
    double room_m = fmax(plan->distance_m - plan->gear_m, 0.0);
    double slowing_m = sl_slowing_distance_m(from_mps, to_mps, pace->rate_mps2);
    plan->slowing_mps2 = from_mps > to_mps ? pace->rate_mps2 : 0.0;
    if (slowing_m > room_m) {
        slowing_m = room_m;
        plan->slowing_mps2 = (from_mps * from_mps - to_mps * to_mps) / (2.0 * room_m);
    }
    plan->brake_m = plan->gear_m + slowing_m;
    plan->brake_s = fmax((plan->distance_m - plan->brake_m) / from_mps, 0.0);
    plan->gear_s = plan->brake_s + sl_slowing_time_s(from_mps, to_mps, plan->slowing_mps2);
    plan->rolling_from_s = plan->gear_s + timing->gear_change_s;
    plan->line_s = plan->rolling_from_s + timing->rolling_s + pace->margin_s;
}

/* Room that is left over when the car, at this speed on the plan's course, begins a stop. */
static double to_spare_m(const struct sl_demand *demand, const struct sl_plan *plan,
                         double speed_mps)
{
    double from_line_m =
        plan->gear_m + sl_slowing_distance_m(speed_mps, plan->target_mps, plan->slowing_mps2);
    return from_line_m -
           sl_stopping_distance_m(speed_mps, demand->timing->reaction_s, demand->firm_mps2);
}

/* The least speed within the slowing from which a stop still fits: approach speed leaves room for
 * one, target speed does not. */
static double last_stopping_mps(const struct sl_demand *demand, const struct sl_plan *plan)
{
    double too_slow = plan->target_mps;
    double fast = plan->approach_mps;
    for (int i = 0; i < BISECTIONS; i++) {
        double middle = (too_slow + fast) / 2.0;
        if (to_spare_m(demand, plan, middle) >= 0.0) {
            fast = middle;
        } else {
            too_slow = middle;
        }
    }
    return fast;
}

void sl_course_stop_by(const struct sl_demand *demand, struct sl_plan *plan)
{
    double speed_mps = plan->target_mps;
    if (to_spare_m(demand, plan, plan->target_mps) < 0.0) {
        /* Steep downhill, or little rolling: the last such point lies before the rolling. */
        speed_mps = to_spare_m(demand, plan, plan->approach_mps) < 0.0
                        ? plan->approach_mps
                        : last_stopping_mps(demand, plan);
    }
    double stop_m =
        sl_stopping_distance_m(speed_mps, demand->timing->reaction_s, demand->firm_mps2);
    plan->stop_by_m = fmin(stop_m, plan->distance_m);
    plan->stop_by_s = fmax(sl_plan_time_s(plan, plan->stop_by_m), 0.0);
}

double sl_plan_distance_m(const struct sl_plan *plan, double at_s)
{
    if (at_s >= plan->line_s) {
        return 0.0;
    }
    if (at_s >= plan->gear_s) {
        return plan->target_mps * (plan->line_s - at_s);
    }
    double since_s = at_s - plan->brake_s;
    double without_m = plan->brake_m - plan->approach_mps * since_s;
    return since_s <= 0.0 ? without_m : without_m + plan->slowing_mps2 * since_s * since_s / 2.0;
}

double sl_plan_speed_mps(const struct sl_plan *plan, double at_s)
{
    if (at_s >= plan->gear_s) {
        return plan->target_mps;
    }
    return plan->approach_mps - plan->slowing_mps2 * fmax(at_s - plan->brake_s, 0.0);
}

double sl_plan_time_s(const struct sl_plan *plan, double distance_m)
{
    if (distance_m <= plan->gear_m) {
        return plan->line_s - fmax(distance_m, 0.0) / plan->target_mps;
    }
    double on_m = plan->brake_m - distance_m; /* driven since slowing began */
    if (on_m <= 0.0) {
        return plan->brake_s + on_m / plan->approach_mps;
    }
    double squared = plan->approach_mps * plan->approach_mps - 2.0 * plan->slowing_mps2 * on_m;
    return plan->brake_s + (plan->approach_mps - sqrt(fmax(squared, 0.0))) / plan->slowing_mps2;
}
