/*
 * Which step counts for which phase, and what is missing, said again or out of order.
 *
 * The routine's phases are aligned with the steps by sl_align_moves, so what is left unmatched is
 * the smallest set of moved steps. Which of several smallest sets is taken, in this order:
 *   1. the one that blames phases which break an "after" rule when first said,
 *   2. the one that blames the phases which jumped ahead of most others when first said, rather
 *      than those that were overtaken,
 *   3. the one that matches most steps inside their windows (timed marks),
 *   4. the one that matches the first occurrences.
 * A single swap therefore blames one step, once.
 */
#include "core/align.h"
#include "core/marking_parts.h"

#include <math.h>
#include <stdlib.h>

/* Whether `phase` was first said before `other`, and both were said. */
static bool said_before(const size_t first[SL_PHASE_MAX], size_t phase, size_t other)
{
    return first[phase] != SL_STEP_NONE && first[other] != SL_STEP_NONE &&
           first[phase] < first[other];
}

/* True when the phase breaks an "after" rule. */
static bool breaks_rule(const struct sl_routine *routine, size_t phase,
                        const size_t first[SL_PHASE_MAX])
{
    for (size_t i = 0; i < routine->n_rules; i++) {
        const struct sl_rule *rule = &routine->rules[i];
        if (rule->kind == SL_RULE_AFTER && rule->phase == phase &&
            said_before(first, phase, rule->other)) {
            return true;
        }
    }
    return false;
}

/* How many phases that should precede it the phase was said before. */
static size_t jumped_ahead(size_t phase, const size_t first[SL_PHASE_MAX])
{
    size_t jumped = 0;
    for (size_t before = 0; before < phase; before++) {
        jumped += said_before(first, phase, before) ? 1 : 0;
    }
    return jumped;
}

static bool in_window(const struct sl_marking *marking, const struct sl_step *step)
{
    const struct sl_window *window = &marking->plan->windows[step->phase];
    return step->start_s >= window->opens_s && step->start_s <= window->closes_s;
}

/* The gains, n_phases x n_steps: the four wishes above as digits of one number. No digit is more
 * than SL_PHASE_MAX, so a sum over phases never carries into the next. */
static void fill_gains(const struct sl_marking *marking, double *gains)
{
    enum { BASE = 2 * SL_PHASE_MAX * SL_PHASE_MAX };
    const double base = BASE;
    const double most = base * base * base + SL_PHASE_MAX * base * base + base + 1;
    size_t first[SL_PHASE_MAX];
    for (size_t phase = 0; phase < SL_PHASE_MAX; phase++) {
        first[phase] = SL_STEP_NONE;
    }
    for (size_t i = marking->n_steps; i-- > 0;) {
        first[marking->steps[i].phase] = i;
    }
    for (size_t phase = 0; phase < marking->routine->n_phases; phase++) {
        double keep = breaks_rule(marking->routine, phase, first) ? 0 : base * base * base;
        keep += (double)(SL_PHASE_MAX - jumped_ahead(phase, first)) * base * base;
        for (size_t i = 0; i < marking->n_steps; i++) {
            bool timely = marking->options->timed && marking->steps[i].phase == phase &&
                          in_window(marking, &marking->steps[i]);
            double sooner = 1 - (double)i / (double)marking->n_steps;
            gains[phase * marking->n_steps + i] = (keep + (timely ? base : 0) + sooner) / most;
        }
    }
}

/* The step that stands for a phase that could not be matched: the first timely one, or the first.
 */
static size_t moved_step(const struct sl_marking *marking, size_t phase)
{
    size_t chosen = SL_STEP_NONE;
    for (size_t i = 0; i < marking->n_steps; i++) {
        if (marking->steps[i].phase != phase) {
            continue;
        }
        if (marking->options->timed && in_window(marking, &marking->steps[i])) {
            return i;
        }
        chosen = chosen == SL_STEP_NONE ? i : chosen;
    }
    return chosen;
}

/* Going ahead without a signal is right, and nothing need be said about it; where a signal would
 * mislead, saying so is part of the routine. */
static bool is_waived(const struct sl_marking *marking, size_t phase)
{
    const struct sl_settings *wanted = &marking->mark->phases[phase].wanted.settings;
    return marking->junction->turn == SL_TURN_AHEAD && !marking->junction->signal_misleads &&
           sl_settings_named(wanted) == SL_SET_SIGNAL && wanted->signal == SL_SIGNAL_NONE;
}

enum sl_status sl_marking_align(struct sl_marking *marking, struct sl_error *error)
{
    size_t n_phases = marking->routine->n_phases;
    int phases[SL_PHASE_MAX];
    struct sl_alignment alignment = {0};
    enum sl_status status = SL_OK;
    int *said = calloc(marking->n_steps + 1, sizeof *said);
    double *gains = calloc(n_phases * marking->n_steps + 1, sizeof *gains);
    if (said == NULL || gains == NULL) {
        status = sl_fail_memory(error);
        goto out;
    }
    for (size_t i = 0; i < marking->n_steps; i++) {
        said[i] = (int)marking->steps[i].phase;
    }
    for (size_t phase = 0; phase < n_phases; phase++) {
        phases[phase] = (int)phase;
    }
    fill_gains(marking, gains);
    const struct sl_align_input input = {
        .ref = phases, .n_ref = n_phases, .hyp = said, .n_hyp = marking->n_steps, .gain = gains};
    status = sl_align(&input, &sl_align_moves, &alignment, error);
    if (status != SL_OK) {
        goto out;
    }
    for (size_t i = 0; i < alignment.n_pairs; i++) {
        const struct sl_align_pair *pair = &alignment.pairs[i];
        if (pair->ref != SL_ALIGN_NONE) {
            struct sl_phase_state *state = &marking->phases[pair->ref];
            state->step = pair->hyp != SL_ALIGN_NONE ? pair->hyp : moved_step(marking, pair->ref);
            state->moved = pair->hyp == SL_ALIGN_NONE && state->step != SL_STEP_NONE;
            state->waived = state->step == SL_STEP_NONE && is_waived(marking, pair->ref);
        }
    }
out:
    free(said);
    free(gains);
    sl_alignment_clear(&alignment);
    return status;
}

/* True when the rule is about two phases that were heard, and its phase came first. */
static bool is_broken(const struct sl_marking *marking, const struct sl_rule *rule)
{
    if (rule->kind != SL_RULE_AFTER) {
        return false;
    }
    size_t step = marking->phases[rule->phase].step;
    size_t other = marking->phases[rule->other].step;
    return step != SL_STEP_NONE && other != SL_STEP_NONE && step < other;
}

/* The rule that explains why a moved phase is wrong, or NULL: one that it breaks itself, else one
 * that a phase in its place breaks because this one came so late. */
static const struct sl_rule *rule_of_moved(const struct sl_marking *marking, size_t phase)
{
    const struct sl_rule *overtaken = NULL;
    for (size_t i = 0; i < marking->routine->n_rules; i++) {
        const struct sl_rule *rule = &marking->routine->rules[i];
        if (!is_broken(marking, rule)) {
            continue;
        }
        if (rule->phase == phase) {
            return rule;
        }
        if (rule->other == phase && !marking->phases[rule->phase].moved && overtaken == NULL) {
            overtaken = rule;
        }
    }
    return overtaken;
}

/* The phase in its place against which a moved one is out of order: the nearest in the routine.
 * There is one, or the alignment would have matched the moved step too. */
static size_t out_of_order_with(const struct sl_marking *marking, size_t phase)
{
    size_t step = marking->phases[phase].step;
    for (size_t other = phase; other-- > 0;) {
        const struct sl_phase_state *state = &marking->phases[other];
        if (state->step != SL_STEP_NONE && !state->moved && state->step > step) {
            return other;
        }
    }
    for (size_t other = phase + 1; other < marking->routine->n_phases; other++) {
        const struct sl_phase_state *state = &marking->phases[other];
        if (state->step != SL_STEP_NONE && !state->moved && state->step < step) {
            return other;
        }
    }
    return phase;
}

/* One out-of-order fault of `phase`, told against `other`. */
static enum sl_status add_disorder(struct sl_marking *marking, size_t phase, size_t other,
                                   const struct sl_rule *rule, struct sl_error *error)
{
    const struct sl_step *step = sl_marking_step(marking, phase);
    const struct sl_step *than = sl_marking_step(marking, other);
    bool ahead = step->start_s < than->start_s;
    struct sl_fault fault = {.kind = SL_FAULT_OUT_OF_ORDER, .phase = phase, .at_s = step->start_s};
    struct sl_str what = {0};
    sl_marking_add_step(&what, marking, true, phase);
    sl_str_addf(&what, " came at %.1f s, %.1f s %s ", step->start_s,
                fabs(step->start_s - than->start_s), ahead ? "before" : "after");
    sl_marking_add_step(&what, marking, false, other);
    sl_str_addf(&what, "; it belongs %s it.", ahead ? "after" : "before");
    marking->phases[phase].disordered = true;
    return sl_marking_fault(marking, &fault, rule, &what, error);
}

static enum sl_status add_moved(struct sl_marking *marking, size_t phase, struct sl_error *error)
{
    const struct sl_rule *rule = rule_of_moved(marking, phase);
    size_t other = out_of_order_with(marking, phase);
    if (rule != NULL) {
        other = rule->phase == phase ? rule->other : rule->phase;
    }
    return add_disorder(marking, phase, other, rule, error);
}

static enum sl_status add_missed(struct sl_marking *marking, size_t phase, struct sl_error *error)
{
    const struct sl_settings *wanted = &marking->mark->phases[phase].wanted.settings;
    struct sl_fault fault = {.kind = SL_FAULT_MISSED, .phase = phase, .at_s = NAN};
    struct sl_str what = {0};
    sl_marking_add_step(&what, marking, true, phase);
    sl_str_add(&what, " was not heard");
    if (sl_settings_named(wanted) != 0) {
        sl_str_add(&what, "; this junction wants ");
        sl_marking_add_settings(&what, wanted);
    }
    if (marking->options->timed) {
        sl_str_add(&what, "; ");
        sl_marking_add_due(&what, marking, phase);
    }
    sl_str_add(&what, ".");
    return sl_marking_fault(marking, &fault, NULL, &what, error);
}

static const char *poorness(unsigned hiding)
{
    if ((hiding & SL_NOTICE_NOISY) != 0) {
        return "there is too much noise";
    }
    if ((hiding & SL_NOTICE_CLIPPED) != 0) {
        return "the voice is too loud for the microphone";
    }
    return (hiding & SL_NOTICE_QUIET) != 0 ? "the voice is too quiet" : "the sound is too damaged";
}

static enum sl_status add_unclear(struct sl_marking *marking, size_t phase, struct sl_error *error)
{
    const struct sl_heard *heard = marking->phases[phase].unclear;
    struct sl_fault fault = {.kind = SL_FAULT_UNCLEAR, .phase = phase, .at_s = NAN};
    struct sl_str what = {0};
    if (heard == NULL && marking->options->hiding == 0) {
        sl_marking_add_step(&what, marking, true, phase);
        sl_str_add(&what,
                   " was not heard, but something was said there that could not be made out.");
    } else if (heard == NULL) {
        sl_marking_add_step(&what, marking, true, phase);
        sl_str_addf(&what, " was not heard, but %s to say that it was missed.",
                    poorness(marking->options->hiding));
    } else {
        fault.at_s = heard->start_s - marking->options->from_s;
        sl_str_addf(&what,
                    "Something like \"%s\" was heard at %.1f s, not clearly enough to count as ",
                    heard->text == NULL ? "" : heard->text, fault.at_s);
        sl_marking_add_step(&what, marking, false, phase);
        sl_str_add(&what, ".");
    }
    return sl_marking_fault(marking, &fault, NULL, &what, error);
}

static enum sl_status add_extra(struct sl_marking *marking, size_t index, struct sl_error *error)
{
    const struct sl_step *step = &marking->steps[index];
    const struct sl_step *counted = sl_marking_step(marking, step->phase);
    struct sl_fault fault = {.kind = SL_FAULT_EXTRA, .phase = step->phase, .at_s = step->start_s};
    struct sl_str what = {0};
    sl_marking_add_step(&what, marking, true, step->phase);
    sl_str_add(&what, " was said once more");
    if (sl_settings_named(&step->said) != 0) {
        sl_str_add(&what, " (");
        sl_marking_add_settings(&what, &step->said);
        sl_str_add(&what, ")");
    }
    sl_str_addf(&what, " at %.1f s; the one at %.1f s counts.", step->start_s, counted->start_s);
    marking->n_extra++;
    return sl_marking_fault(marking, &fault, NULL, &what, error);
}

/* Rules broken by phases that the alignment left in their place: only a rule that goes against the
 * routine's own order can be. One fault a phase. */
static enum sl_status add_broken_rules(struct sl_marking *marking, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < marking->routine->n_rules && status == SL_OK; i++) {
        const struct sl_rule *rule = &marking->routine->rules[i];
        if (is_broken(marking, rule) && !marking->phases[rule->other].moved &&
            !marking->phases[rule->phase].disordered) {
            marking->n_unpaired_orders++;
            status = add_disorder(marking, rule->phase, rule->other, rule, error);
        }
    }
    return status;
}

enum sl_status sl_marking_order(struct sl_marking *marking, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t phase = 0; phase < marking->routine->n_phases && status == SL_OK; phase++) {
        const struct sl_phase_state *state = &marking->phases[phase];
        if (state->moved) {
            status = add_moved(marking, phase, error);
        } else if (state->step == SL_STEP_NONE && !state->waived) {
            status = sl_marking_unclear(marking, phase) ? add_unclear(marking, phase, error)
                                                        : add_missed(marking, phase, error);
        }
    }
    for (size_t i = 0; i < marking->n_steps && status == SL_OK; i++) {
        if (marking->phases[marking->steps[i].phase].step != i) {
            status = add_extra(marking, i, error);
        }
    }
    return status == SL_OK ? add_broken_rules(marking, error) : status;
}
