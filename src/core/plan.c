#include "core/plan.h"

#include "core/braking.h"
#include "core/plan_parts.h"
#include "core/str.h"
#include "core/units.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

/* A firm rate below this, after the gradient, is no rate to plan with: the hill holds the car. */
#define FIRM_LEAST_MPS2 0.1

/* Speeds that differ by less are the same: rounding of mph to m/s. */
#define SAME_SPEED_MPS 1e-6

/* What everything below is computed from; nothing is owned. */
struct task {
    const struct sl_junction *junction;
    const struct sl_routine *routine;
    const struct sl_car *car;
};

const char *sl_give_up_word(enum sl_give_up give_up)
{
    static const char *const words[] = {"nothing", "margin", "gentle-braking", "pauses", "speed"};
    return (unsigned)give_up < sizeof words / sizeof words[0] ? words[give_up] : NULL;
}

/* What the routine asks for here: the same that its phases want (sl_routine_wanted), whichever of
 * them carries the speed, the gear and the clutch. */
static const struct sl_settings *aim(const struct task *task, enum sl_view view)
{
    const struct sl_routine *routine = task->routine;
    return task->junction->control == SL_CONTROL_STOP ? &routine->stop.settings
                                                      : &routine->view[view].settings;
}

static enum sl_status check_aim(const struct task *task, const struct sl_settings *settings,
                                struct sl_error *error)
{
    const char *where = task->junction->name;
    double approach_mph = sl_mph_from_mps(task->junction->approach_mps);
    double target_mph = sl_mph_from_mps(settings->speed_mps);
    if (task->junction->approach_mps < settings->speed_mps - SAME_SPEED_MPS) {
        char *mend = sl_strf("give an approach speed of at least %.3g mph", target_mph);
        enum sl_status status =
            sl_fail(error, SL_INVALID, where, mend,
                    "the approach at %.3g mph is slower than the %.3g mph that the routine slows "
                    "down to",
                    approach_mph, target_mph);
        free(mend);
        return status;
    }
    if (settings->gear > task->car->n_gears) {
        return sl_fail(error, SL_INVALID, task->car->name, "choose a car that has the gear",
                       "the routine calls gear %d, the car has %d", settings->gear,
                       task->car->n_gears);
    }
    return SL_OK;
}

static struct sl_demand demand_of(const struct task *task, double target_mps)
{
    const struct sl_timing *timing = &task->routine->timing;
    double gradient = task->junction->gradient;
    struct sl_demand demand = {
        .timing = timing,
        .approach_mps = fmax(task->junction->approach_mps, target_mps),
        .target_mps = target_mps,
        .comfort_mps2 = sl_rate_on_gradient_mps2(timing->comfort_mps2, gradient),
        .firm_mps2 =
            sl_rate_on_gradient_mps2(fmax(timing->firm_mps2, timing->comfort_mps2), gradient),
    };
    for (size_t i = 0; i < task->routine->n_phases; i++) {
        demand.n_before += sl_moment_before_slowing(task->routine->phases[i].moment) ? 1 : 0;
    }
    return demand;
}

static enum sl_status check_demand(const struct task *task, const struct sl_demand *demand,
                                   struct sl_error *error)
{
    const struct sl_junction *junction = task->junction;
    if (demand->firm_mps2 < FIRM_LEAST_MPS2) {
        return sl_fail(error, SL_INVALID, junction->name,
                       "give a gentler gradient; check its sign: downhill is negative",
                       "at a gradient of %.3g %% firm braking hardly slows the car",
                       100.0 * junction->gradient);
    }
    double least_m = sl_demand_least_m(demand);
    if (junction->distance_m > 0.0 && junction->distance_m < least_m) {
        char *mend =
            sl_strf("announce the junction at least %.0f m before the line", ceil(least_m));
        enum sl_status status = sl_fail(
            error, SL_INVALID, junction->name, mend,
            "the approach of %.3g m is too short at any speed: rolling and phrases take %.0f m",
            junction->distance_m, ceil(least_m));
        free(mend);
        return status;
    }
    return SL_OK;
}

/* Lays the course; the view is for the settings and the windows come later. */
static void lay(const struct task *task, const struct sl_demand *demand, struct sl_pace *pace,
                struct sl_plan *plan)
{
    struct sl_pace full = sl_pace_given_up(demand, SL_GIVE_UP_NOTHING);
    plan->approach_mps = demand->approach_mps;
    plan->target_mps = demand->target_mps;
    plan->needed_m = sl_pace_needed_m(demand, &full);
    plan->distance_m =
        task->junction->distance_m > 0.0 ? task->junction->distance_m : sl_demand_suggest_m(demand);
    double given_up = sl_demand_fit(demand, plan->distance_m);
    *pace = sl_pace_given_up(demand, given_up);
    plan->give_up = (enum sl_give_up)ceil(given_up);
    plan->long_enough = plan->give_up == SL_GIVE_UP_NOTHING;
    plan->fitting_mps = plan->give_up == SL_GIVE_UP_SPEED ? pace->approach_mps : 0.0;
    sl_course_lay(demand, pace, plan);
    sl_course_stop_by(demand, plan);
}

static void add_engine(const struct sl_car *car, const struct sl_settings *settings,
                       struct sl_plan *plan)
{
    plan->gear = settings->gear;
    plan->engine_rpm = sl_engine_rpm(car, plan->target_mps, settings->gear);
    plan->judder = settings->clutch == SL_CLUTCH_UP && plan->engine_rpm < car->judder_rpm;
}

/* A whole plan with the view taken as said; see_m is set already. */
static enum sl_status make_for_view(const struct task *task, enum sl_view view,
                                    struct sl_plan *plan, struct sl_error *error)
{
    const struct sl_settings *settings = aim(task, view);
    enum sl_status status = check_aim(task, settings, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_demand demand = demand_of(task, settings->speed_mps);
    status = check_demand(task, &demand, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_pace pace;
    plan->view = view;
    lay(task, &demand, &pace, plan);
    add_engine(task->car, settings, plan);
    plan->see_s = fmax(sl_plan_time_s(plan, plan->see_m), 0.0);
    sl_windows_lay(&demand, &pace, task->routine, task->junction->control == SL_CONTROL_STOP, plan);
    return SL_OK;
}

/* Open if enough is seen by the time at which the open plan wants the decision. */
static enum sl_status make_for_sight(const struct task *task, struct sl_plan *plan,
                                     struct sl_error *error)
{
    const struct sl_sight *sight = &task->junction->sight;
    struct sl_plan open = {.sight_needed_m = sl_sight_needed_m(sight->major_mps)};
    open.see_m = sl_sight_from_line_m(sight, open.sight_needed_m);
    enum sl_status status = make_for_view(task, SL_VIEW_OPEN, &open, error);
    if (status == SL_OK && open.see_m >= sl_plan_distance_m(&open, sl_open_decision_s(&open))) {
        *plan = open;
        return SL_OK;
    }
    if (status != SL_OK && isinf(open.see_m)) {
        return status;
    }
    /* Either enough is seen too late, or this approach has no room for the open pace at all. */
    sl_error_clear(error);
    struct sl_plan closed = {.sight_needed_m = open.sight_needed_m, .see_m = open.see_m};
    status = make_for_view(task, SL_VIEW_CLOSED, &closed, error);
    if (status == SL_OK) {
        *plan = closed;
    }
    return status;
}

enum sl_status sl_plan_make(const struct sl_junction *junction, const struct sl_routine *routine,
                            const struct sl_car *car, struct sl_plan *plan, struct sl_error *error)
{
    assert(routine->n_phases <= SL_PHASE_MAX);
    struct task task = {.junction = junction, .routine = routine, .car = car};
    if (junction->sight_measured) {
        return make_for_sight(&task, plan, error);
    }
    /* Common practice, no source: a closed junction shows the road only when the car is at the
     * line, within the length of its bonnet. */
    struct sl_plan stated = {.see_m =
                                 junction->view == SL_VIEW_OPEN ? INFINITY : SL_EYE_BEHIND_FRONT_M};
    enum sl_status status = make_for_view(&task, junction->view, &stated, error);
    if (status == SL_OK) {
        *plan = stated;
    }
    return status;
}
