#include "core/road_tone.h"

#include "core/units.h"

#include <math.h>

double sl_road_tone_hz(const struct sl_plan *plan, double at_s)
{
    return SL_ROAD_TONE_BASE_HZ + SL_ROAD_TONE_HZ_PER_MPS * sl_plan_speed_mps(plan, at_s);
}

/* 0 to 1, a raised cosine at both ends, so that nothing clicks. */
static double envelope(const struct sl_plan *plan, double at_s)
{
    double to_end_s = fmin(at_s, plan->line_s - at_s);
    if (to_end_s <= 0) {
        return 0;
    }
    double share = fmin(to_end_s / SL_ROAD_TONE_FADE_S, 1);
    return 0.5 - 0.5 * cos(SL_PI * share);
}

double sl_road_tone(const struct sl_plan *plan, double at_s)
{
    double gain = envelope(plan, at_s);
    if (gain <= 0) {
        return 0;
    }
    double driven_m = plan->distance_m - sl_plan_distance_m(plan, at_s);
    double cycles = SL_ROAD_TONE_BASE_HZ * at_s + SL_ROAD_TONE_HZ_PER_MPS * driven_m;
    return SL_ROAD_TONE_AMPLITUDE * gain * sin(2 * SL_PI * (cycles - floor(cycles)));
}
