#include "core/view.h"

#include "core/braking.h"
#include "core/junction.h"
#include "core/range.h"
#include "core/units.h"

#include <math.h>

/* Manual for Streets (DfT, 2007), chapter 7: from memory, and every row of its table 7.1 is
 * reproduced by them (tests/core/test_view.c). */
#define MFS_REACTION_S 1.5
#define MFS_RATE_MPS2 4.41

#define CORNER_MAX_M 100.0

static bool hides_nothing(const struct sl_corner *corner)
{
    return corner->set_back_m <= 0.0 && corner->offset_m <= 0.0;
}

double sl_seen_along_m(const struct sl_corner *corner, double eye_m)
{
    if (hides_nothing(corner) || eye_m <= corner->set_back_m) {
        return INFINITY;
    }
    return corner->offset_m * eye_m / (eye_m - corner->set_back_m);
}

double sl_sight_needed_m(double major_mps)
{
    return sl_stopping_distance_m(major_mps, MFS_REACTION_S, MFS_RATE_MPS2) + SL_EYE_BEHIND_FRONT_M;
}

/* The farthest eye from which needed_m is seen past one corner: the inverse of sl_seen_along_m. */
static double eye_for_m(const struct sl_corner *corner, double needed_m)
{
    /* However far back the eye is, it sees at least the offset along the road. */
    if (hides_nothing(corner) || corner->offset_m >= needed_m) {
        return INFINITY;
    }
    return needed_m * corner->set_back_m / (needed_m - corner->offset_m);
}

double sl_sight_from_line_m(const struct sl_sight *sight, double needed_m)
{
    double eye_m = fmin(eye_for_m(&sight->left, needed_m), eye_for_m(&sight->right, needed_m));
    return fmax(eye_m - SL_EYE_BEHIND_FRONT_M, 0.0);
}

static enum sl_status check_corner(const struct sl_corner *corner, const char *side,
                                   struct sl_error *error)
{
    const struct sl_range ranges[] = {
        {"the set-back of what hides the road", "m", corner->set_back_m, 0.0, CORNER_MAX_M, false},
        {"the offset of what hides the road", "m", corner->offset_m, 0.0, CORNER_MAX_M, false},
    };
    enum sl_status status = sl_ranges_check(ranges, sizeof ranges / sizeof ranges[0], side, error);
    if (status == SL_OK && corner->set_back_m > 0.0 && corner->offset_m <= 0.0) {
        return sl_fail(error, SL_INVALID, side,
                       "give how far to the side of the driver's path it stands",
                       "what hides the road %g m before the edge has the offset %g m",
                       corner->set_back_m, corner->offset_m);
    }
    return status;
}

enum sl_status sl_sight_check(const struct sl_sight *sight, struct sl_error *error)
{
    enum sl_status status = check_corner(&sight->left, "view to the left", error);
    if (status == SL_OK) {
        status = check_corner(&sight->right, "view to the right", error);
    }
    if (status != SL_OK) {
        return status;
    }
    struct sl_range speed = {"the speed of traffic on the major road",
                             "mph",
                             sl_mph_from_mps(sight->major_mps),
                             0.0,
                             SL_APPROACH_MAX_MPH,
                             true};
    return sl_ranges_check(&speed, 1, "view", error);
}
