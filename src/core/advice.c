/*
 * The one thing to practise next.
 *
 * Safety comes first: a decision before what it must wait for, too little rolling, a go before
 * anything can be seen, a go where waiting is right. Then out of order, missed, wrong settings,
 * late, early, unclear, extra; of two late or two early ones the one further out; else the first in
 * the routine.
 */
#include "core/marking_parts.h"

#include <math.h>
#include <stdlib.h>

static const struct sl_rule *rule_of(const struct sl_routine *routine, const struct sl_fault *fault)
{
    for (size_t i = 0; i < routine->n_rules; i++) {
        if (routine->rules[i].id == fault->rule) { /* the fault carries the rule's own string */
            return &routine->rules[i];
        }
    }
    return NULL;
}

/* True when the step says go where the junction wants waiting. */
static bool goes_wrongly(const struct sl_marking *marking, const struct sl_fault *fault)
{
    const struct sl_phase_state *state = &marking->phases[fault->phase];
    return fault->kind == SL_FAULT_WRONG_SETTING && (state->wrong & SL_SET_DECISION) != 0 &&
           marking->mark->phases[fault->phase].said.decision == SL_DECISION_GO;
}

/* True when a decision jumped ahead of a step that it must wait for. */
static bool decides_too_soon(const struct sl_marking *marking, const struct sl_fault *fault)
{
    if (fault->kind != SL_FAULT_OUT_OF_ORDER ||
        marking->routine->phases[fault->phase].moment != SL_MOMENT_DECIDE) {
        return false;
    }
    for (size_t phase = 0; phase < fault->phase; phase++) {
        size_t step = marking->phases[phase].step;
        if (step != SL_STEP_NONE && step > marking->phases[fault->phase].step) {
            return true;
        }
    }
    return false;
}

static bool is_time_rule(const struct sl_rule *rule)
{
    return rule != NULL && (rule->kind == SL_RULE_ROLLING || rule->kind == SL_RULE_LOOK_FIRST);
}

/* The smaller, the more it matters. */
static int rank_of(const struct sl_marking *marking, const struct sl_fault *fault)
{
    static const int ranks[SL_FAULT_KIND_COUNT] = {
        [SL_FAULT_OUT_OF_ORDER] = 1, [SL_FAULT_MISSED] = 2, [SL_FAULT_WRONG_SETTING] = 3,
        [SL_FAULT_LATE] = 4,         [SL_FAULT_EARLY] = 5,  [SL_FAULT_UNCLEAR] = 6,
        [SL_FAULT_EXTRA] = 7};
    if (decides_too_soon(marking, fault) || is_time_rule(rule_of(marking->routine, fault)) ||
        goes_wrongly(marking, fault)) {
        return 0;
    }
    return ranks[fault->kind];
}

static bool matters_more(const struct sl_marking *marking, const struct sl_fault *fault,
                         const struct sl_fault *than)
{
    int rank = rank_of(marking, fault);
    int other = rank_of(marking, than);
    if (rank != other || (fault->kind != SL_FAULT_LATE && fault->kind != SL_FAULT_EARLY)) {
        return rank < other;
    }
    return marking->phases[fault->phase].outside_s > marking->phases[than->phase].outside_s;
}

static const struct sl_fault *worst_fault(const struct sl_marking *marking)
{
    const struct sl_mark *mark = marking->mark;
    const struct sl_fault *worst = mark->faults;
    for (size_t i = 1; i < mark->n_faults; i++) {
        worst = matters_more(marking, &mark->faults[i], worst) ? &mark->faults[i] : worst;
    }
    return worst;
}

/* "mirrors, signal, speed, gear, decide" */
static void add_routine(struct sl_str *text, const struct sl_routine *routine)
{
    for (size_t phase = 0; phase < routine->n_phases; phase++) {
        sl_str_addf(text, "%s%s", phase == 0 ? "" : ", ", routine->phases[phase].id);
    }
}

static void advise_order(struct sl_str *text, const struct sl_marking *marking,
                         const struct sl_fault *fault)
{
    const struct sl_rule *rule = rule_of(marking->routine, fault);
    if (rule != NULL && rule->kind == SL_RULE_MIRROR_ORDER) {
        sl_str_add(text, "Say the mirrors in the order in which you look: ");
        sl_marking_add_settings(text, &marking->mark->phases[fault->phase].wanted.settings);
        sl_str_add(text, ".");
    } else if (decides_too_soon(marking, fault)) {
        sl_str_add(text, "Hold the decision back: say everything else first, let the car roll, "
                         "look, and only then decide.");
    } else {
        sl_str_add(text, "Say the routine slowly three times in its order, with ");
        sl_marking_add_step(text, marking, false, fault->phase);
        sl_str_add(text, " in its place: ");
        add_routine(text, marking->routine);
        sl_str_add(text, ".");
    }
}

static void advise_missed(struct sl_str *text, const struct sl_marking *marking,
                          const struct sl_fault *fault)
{
    const struct sl_settings *wanted = &marking->mark->phases[fault->phase].wanted.settings;
    sl_str_add(text, "Run through it again and put in ");
    sl_marking_add_step(text, marking, false, fault->phase);
    if (fault->phase > 0) {
        sl_str_add(text, ", right after ");
        sl_marking_add_step(text, marking, false, fault->phase - 1);
    } else {
        sl_str_add(text, ", first of all");
    }
    if (sl_settings_named(wanted) != 0) {
        sl_str_add(text, ": ");
        sl_marking_add_settings(text, wanted);
    }
    sl_str_add(text, ".");
}

static void advise_setting(struct sl_str *text, const struct sl_marking *marking,
                           const struct sl_fault *fault)
{
    if (goes_wrongly(marking, fault)) {
        sl_str_add(text, "Practise waiting: at this junction you stop and look before you go.");
        return;
    }
    const struct sl_settings *wanted = &marking->mark->phases[fault->phase].wanted.settings;
    struct sl_settings right = sl_settings_only(wanted, marking->phases[fault->phase].wrong);
    sl_str_add(text, "Learn what this junction asks for in ");
    sl_marking_add_step(text, marking, false, fault->phase);
    sl_str_add(text, " and say it aloud a few times: ");
    sl_marking_add_settings(text, &right);
    sl_str_add(text, ".");
}

static void advise_time(struct sl_str *text, const struct sl_marking *marking,
                        const struct sl_fault *fault)
{
    const struct sl_rule *rule = rule_of(marking->routine, fault);
    double outside_s = marking->phases[fault->phase].outside_s;
    if (rule != NULL && rule->kind == SL_RULE_ROLLING) {
        sl_str_addf(text,
                    "Get the slowing and the gear done about %.1f s sooner, so that the car has "
                    "%.0f s to roll before the line.",
                    outside_s, rule->seconds);
    } else if (rule != NULL) {
        sl_str_addf(text,
                    "Keep 'go' back until you can really see along the road, about %.1f s later "
                    "than this time.",
                    outside_s);
    } else {
        sl_str_add(text, "Next time start ");
        sl_marking_add_step(text, marking, false, fault->phase);
        sl_str_addf(text, " at least %.1f s %s.", outside_s,
                    fault->kind == SL_FAULT_LATE ? "sooner" : "later");
    }
}

static void advise_fault(struct sl_str *text, const struct sl_marking *marking,
                         const struct sl_fault *fault)
{
    switch (fault->kind) {
    case SL_FAULT_OUT_OF_ORDER:
        advise_order(text, marking, fault);
        break;
    case SL_FAULT_MISSED:
        advise_missed(text, marking, fault);
        break;
    case SL_FAULT_WRONG_SETTING:
        advise_setting(text, marking, fault);
        break;
    case SL_FAULT_EARLY:
    case SL_FAULT_LATE:
        advise_time(text, marking, fault);
        break;
    case SL_FAULT_UNCLEAR:
        sl_str_add(text, "Say ");
        sl_marking_add_step(text, marking, false, fault->phase);
        sl_str_add(text, " again, a little slower and clearer, closer to the microphone.");
        break;
    case SL_FAULT_EXTRA:
    case SL_FAULT_KIND_COUNT:
        sl_str_add(text, "Say each step once and then leave it: ");
        sl_marking_add_step(text, marking, false, fault->phase);
        sl_str_add(text, " came more than once.");
        break;
    }
}

/* The settings that the phase asks for and that were left unnamed (bits). */
static unsigned left_unnamed(const struct sl_marking *marking, size_t phase)
{
    const struct sl_step *step = sl_marking_step(marking, phase);
    return step == NULL || step->settled == SL_SETTLED_RIGHT
               ? 0
               : sl_marking_judged(marking, phase) & ~sl_settings_named(&step->said);
}

static void advise_more(struct sl_str *text, const struct sl_marking *marking, size_t phase)
{
    const struct sl_settings *wanted = &marking->mark->phases[phase].wanted.settings;
    struct sl_settings unnamed = sl_settings_only(wanted, left_unnamed(marking, phase));
    sl_str_add(text, "Well done, nothing was wrong; next time say more in ");
    sl_marking_add_step(text, marking, false, phase);
    sl_str_add(text, ": ");
    if (sl_settings_named(&unnamed) != 0) {
        sl_marking_add_settings(text, &unnamed);
    } else {
        sl_str_add(text, "go or wait");
    }
    sl_str_add(text, ".");
}

/* For a run without a fault: what was left unnamed, else something harder. */
static void advise_clean(struct sl_str *text, const struct sl_marking *marking)
{
    for (size_t phase = 0; phase < marking->routine->n_phases; phase++) {
        if (left_unnamed(marking, phase) != 0) {
            advise_more(text, marking, phase);
            return;
        }
    }
    if (!marking->options->timed) {
        sl_str_add(text, "Well done, every step was there, in order and right; next, say it in "
                         "time with the approach.");
    } else {
        sl_str_addf(text,
                    "Well done, every step was there, right and in time; next, try a junction "
                    "%s.",
                    marking->plan->view == SL_VIEW_OPEN ? "that is closed"
                                                        : "that is open, or the other turn");
    }
}

static bool heard_anything(const struct sl_marking *marking)
{
    bool anything = marking->n_steps > 0;
    for (size_t phase = 0; phase < marking->routine->n_phases; phase++) {
        anything = anything || marking->phases[phase].unclear != NULL;
    }
    return anything;
}

/* The sound that hid everything, in words of what to do. */
static const char *what_to_mend(unsigned hiding)
{
    if ((hiding & SL_NOTICE_NOISY) != 0) {
        return "find a quieter place";
    }
    if ((hiding & SL_NOTICE_CLIPPED) != 0) {
        return "turn the microphone down or move back";
    }
    if ((hiding & SL_NOTICE_QUIET) != 0) {
        return "come closer to the microphone";
    }
    return (hiding & SL_NOTICE_DAMAGED) != 0 ? "record it anew, as this sound is damaged"
                                             : "check that the right microphone is on";
}

enum sl_status sl_marking_advise(struct sl_marking *marking, struct sl_error *error)
{
    struct sl_str text = {0};
    const struct sl_fault *worst = worst_fault(marking);
    if (!heard_anything(marking)) {
        bool lost = sl_marking_not_understood(marking, 0) != NULL;
        unsigned hiding = marking->options->hiding;
        sl_str_addf(&text, "Nothing of the routine was heard: %s, then say it again.",
                    what_to_mend(hiding == 0 && lost ? SL_NOTICE_NOISY : hiding));
    } else if (worst != NULL) {
        advise_fault(&text, marking, worst);
    } else {
        advise_clean(&text, marking);
    }
    marking->mark->next = sl_str_take(&text);
    return marking->mark->next == NULL ? sl_fail_memory(error) : SL_OK;
}
