#include "core/braking.h"
#include "core/plan_parts.h"

#include <math.h>

bool sl_moment_before_slowing(enum sl_moment moment)
{
    return moment == SL_MOMENT_MIRRORS || moment == SL_MOMENT_SIGNAL ||
           moment == SL_MOMENT_POSITION;
}

double sl_open_decision_s(const struct sl_plan *plan)
{
    /* Halfway between the earliest and the last moment: as long for looking as for being late. */
    double opens_s = plan->rolling_from_s;
    return (opens_s + fmax(plan->stop_by_s, opens_s)) / 2.0;
}

/* Everything that the windows of one plan share. */
struct layout {
    const struct sl_demand *demand;
    struct sl_plan *plan;
    double step_s;       /* between the phases before the slowing */
    bool decide_at_line; /* a stop line */
};

/* Signal and position, number `index` (from 0) of the n_before: may be given as soon as the phase
 * in front of them is due. */
static struct sl_window window_before(const struct layout *layout, size_t index)
{
    size_t steps_left = layout->demand->n_before - index;
    double due_s = layout->plan->brake_s - (double)steps_left * layout->step_s;
    double before_s = index == 0 ? due_s : due_s - layout->step_s;
    return (struct sl_window){.opens_s = before_s - layout->demand->timing->early_s,
                              .due_s = due_s,
                              .closes_s = due_s + layout->step_s};
}

/* Mirrors are in place from the announcement on. */
static struct sl_window window_mirrors(const struct layout *layout, size_t index)
{
    struct sl_window window = window_before(layout, index);
    window.opens_s = 0.0;
    return window;
}

/* The last moment for slowing: at the firm rate, with no spare rolling. */
static struct sl_window window_brake(const struct layout *layout)
{
    const struct sl_plan *plan = layout->plan;
    const struct sl_timing *timing = layout->demand->timing;
    double last_m =
        plan->target_mps * (timing->rolling_s + timing->gear_change_s) +
        sl_slowing_distance_m(plan->approach_mps, plan->target_mps, layout->demand->firm_mps2);
    return (struct sl_window){.opens_s = plan->brake_s - timing->early_s,
                              .due_s = plan->brake_s,
                              .closes_s =
                                  plan->brake_s + (plan->brake_m - last_m) / plan->approach_mps};
}

/* The last moment for the gear: what the routine asks of rolling is left after the change. */
static struct sl_window window_gear(const struct layout *layout)
{
    const struct sl_plan *plan = layout->plan;
    const struct sl_timing *timing = layout->demand->timing;
    return (struct sl_window){.opens_s = plan->gear_s - timing->early_s,
                              .due_s = plan->gear_s,
                              .closes_s = plan->line_s - timing->rolling_s - timing->gear_change_s};
}

static struct sl_window window_decide(const struct layout *layout)
{
    const struct sl_plan *plan = layout->plan;
    struct sl_window window = {.opens_s = plan->rolling_from_s};
    if (layout->decide_at_line) {
        window.due_s = plan->line_s;
        window.closes_s = plan->line_s + layout->demand->timing->at_line_s;
    } else if (plan->view == SL_VIEW_CLOSED) {
        window.due_s = plan->see_s; /* put off to the opening where that is later */
        window.closes_s = plan->line_s + layout->demand->timing->at_line_s;
    } else {
        window.due_s = sl_open_decision_s(plan);
        window.closes_s = plan->stop_by_s;
    }
    return window;
}

/* Keeps the order that every window promises, rounding or not, and adds the metres. */
static struct sl_window in_order(const struct sl_plan *plan, struct sl_window window)
{
    window.opens_s = fmax(window.opens_s, 0.0);
    window.due_s = fmax(window.due_s, window.opens_s);
    window.closes_s = fmax(window.closes_s, window.due_s);
    window.opens_m = sl_plan_distance_m(plan, window.opens_s);
    window.due_m = sl_plan_distance_m(plan, window.due_s);
    window.closes_m = sl_plan_distance_m(plan, window.closes_s);
    return window;
}

static struct sl_window window_of(const struct layout *layout, const struct sl_phase *phase,
                                  size_t before)
{
    switch (phase->moment) {
    case SL_MOMENT_MIRRORS:
        return window_mirrors(layout, before);
    case SL_MOMENT_BRAKE:
        return window_brake(layout);
    case SL_MOMENT_GEAR:
        return window_gear(layout);
    case SL_MOMENT_DECIDE:
        return window_decide(layout);
    default:
        return window_before(layout, before);
    }
}

/* The pace's pauses, shortened alike where there is less time before the slowing. */
static double step_that_fits_s(const struct sl_demand *demand, const struct sl_pace *pace,
                               double time_s)
{
    double wanted_s = (double)demand->n_before * pace->step_s + pace->announce_s;
    return time_s < wanted_s ? pace->step_s * time_s / wanted_s : pace->step_s;
}

void sl_windows_lay(const struct sl_demand *demand, const struct sl_pace *pace,
                    const struct sl_routine *routine, bool decide_at_line, struct sl_plan *plan)
{
    struct layout layout = {.demand = demand,
                            .plan = plan,
                            .step_s = step_that_fits_s(demand, pace, plan->brake_s),
                            .decide_at_line = decide_at_line};
    size_t before = 0;
    plan->n_windows = routine->n_phases;
    for (size_t i = 0; i < routine->n_phases; i++) {
        const struct sl_phase *phase = &routine->phases[i];
        plan->windows[i] = in_order(plan, window_of(&layout, phase, before));
        before += sl_moment_before_slowing(phase->moment) ? 1 : 0;
    }
}
