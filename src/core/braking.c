#include "core/braking.h"

#include "core/units.h"

#include <math.h>

double sl_rate_on_gradient_mps2(double rate_mps2, double gradient)
{
    return rate_mps2 + SL_GRAVITY_MPS2 * gradient;
}

double sl_slowing_distance_m(double from_mps, double to_mps, double rate_mps2)
{
    if (from_mps <= to_mps) {
        return 0.0;
    }
    if (rate_mps2 <= 0.0) {
        return INFINITY;
    }
    return (from_mps * from_mps - to_mps * to_mps) / (2.0 * rate_mps2);
}

double sl_slowing_time_s(double from_mps, double to_mps, double rate_mps2)
{
    if (from_mps <= to_mps) {
        return 0.0;
    }
    if (rate_mps2 <= 0.0) {
        return INFINITY;
    }
    return (from_mps - to_mps) / rate_mps2;
}

double sl_stopping_distance_m(double speed_mps, double reaction_s, double rate_mps2)
{
    return speed_mps * reaction_s + sl_slowing_distance_m(speed_mps, 0.0, rate_mps2);
}
