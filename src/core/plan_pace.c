#include "core/braking.h"
#include "core/plan_parts.h"

#include <math.h>

/* Pauses are not planned shorter than this: it is about what it takes to say a phrase (four to
 * five syllables a second; Jones 1967 as quoted by Wood 1973). */
#define PAUSE_LEAST_S 1.0

/* Room for slowing that is left at the least, so that its rate is a number. */
#define SLOWING_LEAST_M 1.0

/* Halvings of the range 0 to 4: below a micrometre of approach. */
#define BISECTIONS 60

#define ROUND_UP_TO_M 10.0

/* The share of step `step` (1 to 4) that is given up: 0 to 1. */
static double share(double given_up, enum sl_give_up step)
{
    return fmin(fmax(given_up - ((double)step - 1.0), 0.0), 1.0);
}

static double between(double from, double to, double share_of_to)
{
    return from + (to - from) * share_of_to;
}

struct sl_pace sl_pace_given_up(const struct sl_demand *demand, double given_up)
{
    const struct sl_timing *timing = demand->timing;
    double pauses = share(given_up, SL_GIVE_UP_PAUSES);
    return (struct sl_pace){
        .approach_mps =
            between(demand->approach_mps, demand->target_mps, share(given_up, SL_GIVE_UP_SPEED)),
        .margin_s = between(timing->rolling_margin_s, 0.0, share(given_up, SL_GIVE_UP_MARGIN)),
        .rate_mps2 =
            between(demand->comfort_mps2, demand->firm_mps2, share(given_up, SL_GIVE_UP_GENTLE)),
        .step_s = between(timing->step_s, fmin(timing->step_s, PAUSE_LEAST_S), pauses),
        .announce_s = between(timing->announce_s, fmin(timing->announce_s, PAUSE_LEAST_S), pauses),
    };
}

double sl_pace_gear_m(const struct sl_demand *demand, const struct sl_pace *pace)
{
    const struct sl_timing *timing = demand->timing;
    return demand->target_mps * (timing->rolling_s + pace->margin_s + timing->gear_change_s);
}

double sl_pace_needed_m(const struct sl_demand *demand, const struct sl_pace *pace)
{
    double before_s = (double)demand->n_before * pace->step_s + pace->announce_s;
    return sl_pace_gear_m(demand, pace) +
           sl_slowing_distance_m(pace->approach_mps, demand->target_mps, pace->rate_mps2) +
           pace->approach_mps * before_s;
}

double sl_demand_least_m(const struct sl_demand *demand)
{
    struct sl_pace pace = sl_pace_given_up(demand, SL_GIVEN_UP_ALL);
    return fmax(sl_pace_needed_m(demand, &pace), sl_pace_gear_m(demand, &pace) + SLOWING_LEAST_M);
}

static double shortest_m(const struct sl_demand *demand, double given_up)
{
    struct sl_pace pace = sl_pace_given_up(demand, given_up);
    return sl_pace_needed_m(demand, &pace);
}

double sl_demand_suggest_m(const struct sl_demand *demand)
{
    /* A gentle slowing may take for ever down a steep hill: then as much is given up as it takes
     * to make an approach of a reasonable length. */
    const double tries[] = {SL_GIVE_UP_NOTHING, SL_GIVE_UP_GENTLE, SL_GIVE_UP_PAUSES};
    double suggest_m = INFINITY;
    for (size_t i = 0; i < sizeof tries / sizeof tries[0] && suggest_m > SL_DISTANCE_MAX_M; i++) {
        suggest_m = ceil(shortest_m(demand, tries[i]) / ROUND_UP_TO_M) * ROUND_UP_TO_M;
    }
    return fmax(fmin(suggest_m, SL_DISTANCE_MAX_M), sl_demand_least_m(demand));
}

double sl_demand_fit(const struct sl_demand *demand, double distance_m)
{
    if (shortest_m(demand, 0.0) <= distance_m) {
        return 0.0;
    }
    double too_little = 0.0;
    double enough = SL_GIVEN_UP_ALL;
    for (int i = 0; i < BISECTIONS; i++) {
        double middle = (too_little + enough) / 2.0;
        if (shortest_m(demand, middle) <= distance_m) {
            enough = middle;
        } else {
            too_little = middle;
        }
    }
    return enough;
}
