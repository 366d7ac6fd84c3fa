/*
 * When each step began against its window, and the two rules of time.
 *
 * The window is the tolerance: opens <= start <= closes is right. A phase has at most one fault of
 * time, and a broken rule takes the place of the plain early or late. A phase that is out of order
 * has none, as its time follows from its place; its distance from the window still scores.
 */
#include "core/marking_parts.h"

#include <math.h>

/* A rule of time is broken by more than rounding. */
#define ROUNDING_S 1e-6

/* Seconds outside the window, negative when early; 0 inside. */
static double outside_window_s(const struct sl_window *window, double at_s)
{
    if (at_s < window->opens_s) {
        return at_s - window->opens_s;
    }
    return at_s > window->closes_s ? at_s - window->closes_s : 0;
}

/* Seconds of rolling that are left once the phase is done; a mere repeat does not put that off. A
 * gear is changed while it is named: it is done when the words have ended and the change, begun
 * with them, has had its time. That is the reckoning of the plan, so a gear begun inside its window
 * and named without a pause is in time. */
static double rolling_left_s(const struct sl_marking *marking, size_t phase)
{
    const struct sl_step *step = sl_marking_step(marking, phase);
    bool gear = marking->routine->phases[phase].moment == SL_MOMENT_GEAR;
    double change_s = gear ? marking->routine->timing.gear_change_s : 0;
    return marking->plan->line_s - fmax(step->done_s, step->start_s + change_s);
}

/* By how many seconds a rule of time is broken by a phase that was heard; 0: it is kept. */
static double broken_by_s(const struct sl_marking *marking, const struct sl_rule *rule)
{
    const struct sl_step *step = sl_marking_step(marking, rule->phase);
    if (rule->kind == SL_RULE_ROLLING) {
        return fmax(rule->seconds - rolling_left_s(marking, rule->phase), 0);
    }
    bool goes = step->waited || step->said.decision == SL_DECISION_GO;
    if (rule->kind == SL_RULE_LOOK_FIRST && goes) {
        return fmax(marking->plan->see_s - rule->seconds - step->decision_s, 0);
    }
    return 0;
}

/* The first rule of time that the phase breaks, or NULL. */
static const struct sl_rule *broken_rule(const struct sl_marking *marking, size_t phase)
{
    for (size_t i = 0; i < marking->routine->n_rules; i++) {
        const struct sl_rule *rule = &marking->routine->rules[i];
        if (rule->phase == phase && broken_by_s(marking, rule) > ROUNDING_S) {
            return rule;
        }
    }
    return NULL;
}

static enum sl_status add_rule(struct sl_marking *marking, const struct sl_rule *rule,
                               struct sl_error *error)
{
    const struct sl_step *step = sl_marking_step(marking, rule->phase);
    struct sl_fault fault = {.kind = SL_FAULT_LATE, .phase = rule->phase, .at_s = step->start_s};
    struct sl_str what = {0};
    sl_marking_add_step(&what, marking, true, rule->phase);
    if (rule->kind == SL_RULE_ROLLING) {
        double left_s = rolling_left_s(marking, rule->phase);
        sl_str_addf(&what, " was done at %.1f s, which leaves %.1f s of rolling before the line",
                    marking->plan->line_s - left_s, fmax(left_s, 0));
        sl_str_addf(&what, "; at least %.1f s are wanted, and ", rule->seconds);
    } else {
        fault.kind = SL_FAULT_EARLY;
        sl_str_addf(&what, " said go at %.1f s, %.1f s before enough of the road can be seen; ",
                    step->decision_s, marking->plan->see_s - step->decision_s);
    }
    sl_marking_add_due(&what, marking, rule->phase);
    sl_str_add(&what, ".");
    return sl_marking_fault(marking, &fault, rule, &what, error);
}

static enum sl_status add_plain(struct sl_marking *marking, size_t phase, double outside_s,
                                struct sl_error *error)
{
    const struct sl_step *step = sl_marking_step(marking, phase);
    const struct sl_window *window = &marking->plan->windows[phase];
    bool early = outside_s < 0;
    struct sl_fault fault = {
        .kind = early ? SL_FAULT_EARLY : SL_FAULT_LATE, .phase = phase, .at_s = step->start_s};
    struct sl_str what = {0};
    sl_marking_add_step(&what, marking, true, phase);
    sl_str_addf(&what, " came at %.1f s, %.1f s too %s; ", step->start_s, fabs(outside_s),
                early ? "early" : "late");
    sl_marking_add_due(&what, marking, phase);
    sl_str_addf(&what, ", and from %.1f to %.1f s is right.", window->opens_s, window->closes_s);
    return sl_marking_fault(marking, &fault, NULL, &what, error);
}

/* The least rolling that any rule of it was left; NAN when one was not heard, or there is none. */
static double least_rolling_s(const struct sl_marking *marking)
{
    double least_s = INFINITY;
    for (size_t i = 0; i < marking->routine->n_rules; i++) {
        const struct sl_rule *rule = &marking->routine->rules[i];
        if (rule->kind == SL_RULE_ROLLING) {
            bool heard = sl_marking_step(marking, rule->phase) != NULL;
            least_s = heard ? fmin(least_s, rolling_left_s(marking, rule->phase)) : -INFINITY;
        }
    }
    return isfinite(least_s) ? least_s : NAN;
}

enum sl_status sl_marking_timing(struct sl_marking *marking, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    marking->mark->rolling_s = least_rolling_s(marking);
    for (size_t phase = 0; phase < marking->routine->n_phases && status == SL_OK; phase++) {
        struct sl_phase_state *state = &marking->phases[phase];
        const struct sl_step *step = sl_marking_step(marking, phase);
        if (step == NULL) {
            continue;
        }
        double outside_s = outside_window_s(&marking->plan->windows[phase], step->start_s);
        const struct sl_rule *rule = broken_rule(marking, phase);
        double broken_s = rule != NULL ? broken_by_s(marking, rule) : 0;
        state->outside_s = fmax(fabs(outside_s), broken_s);
        if (state->disordered) {
            continue;
        }
        if (rule != NULL) {
            status = add_rule(marking, rule, error);
        } else if (outside_s != 0) {
            status = add_plain(marking, phase, outside_s, error);
        }
    }
    return status;
}
