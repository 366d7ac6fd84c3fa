/*
 * What was named against what the junction wants.
 *
 * A setting that was not named is no fault by itself; it only earns nothing (scoring.c). Named
 * mirrors are right when the wanted ones are among them; the order of the wanted ones is a matter
 * of the routine's mirror-order rule. Who waited and then went has waited where waiting is wanted,
 * as at a stop line. A step that the instructor settled as wrong is wrong in all that is asked of
 * it.
 */
#include "core/marking_parts.h"
#include "core/wanted.h"

/* The settings named wrongly; what the junction wants nothing of in particular is never wrong. */
static unsigned wrong_settings(const struct sl_settings *said, const struct sl_wanted *wanted)
{
    unsigned both = sl_settings_named(said) & sl_settings_named(&wanted->settings);
    unsigned wrong = 0;
    for (unsigned bit = 1; bit < SL_SET_ALL; bit <<= 1) {
        if ((both & bit) != 0 && !sl_wanted_is_right((enum sl_setting)bit, said, wanted)) {
            wrong |= bit;
        }
    }
    return wrong;
}

static enum sl_status add_wrong(struct sl_marking *marking, size_t phase, struct sl_error *error)
{
    const struct sl_step *step = sl_marking_step(marking, phase);
    const struct sl_wanted *wanted = &marking->mark->phases[phase].wanted;
    unsigned wrong = marking->phases[phase].wrong;
    struct sl_settings said = sl_settings_only(&step->said, wrong);
    struct sl_settings right = sl_settings_only(&wanted->settings, wrong);
    struct sl_fault fault = {.kind = SL_FAULT_WRONG_SETTING, .phase = phase, .at_s = step->start_s};
    struct sl_str what = {0};
    sl_str_addf(&what, "At %.1f s you said ", step->start_s);
    if (sl_settings_named(&said) != 0) {
        sl_marking_add_settings(&what, &said);
    } else { /* settled as wrong, without a word of what it was */
        sl_str_add(&what, "something else");
    }
    sl_str_add(&what, "; this junction wants ");
    sl_marking_add_settings(&what, &right);
    if ((wrong & SL_SET_SPEED) != 0) {
        sl_wanted_add_accepted(&what, wanted);
    }
    sl_str_add(&what, ".");
    return sl_marking_fault(marking, &fault, NULL, &what, error);
}

static enum sl_status add_mirror_order(struct sl_marking *marking, const struct sl_rule *rule,
                                       struct sl_error *error)
{
    const struct sl_step *step = sl_marking_step(marking, rule->phase);
    if (step == NULL) {
        return SL_OK;
    }
    const struct sl_settings *wanted = &marking->mark->phases[rule->phase].wanted.settings;
    if (sl_wanted_in_order(&step->said, wanted)) {
        return SL_OK;
    }
    struct sl_settings said = sl_settings_only(&step->said, SL_SET_MIRRORS);
    struct sl_settings right = sl_settings_only(wanted, SL_SET_MIRRORS);
    struct sl_fault fault = {
        .kind = SL_FAULT_OUT_OF_ORDER, .phase = rule->phase, .at_s = step->start_s};
    struct sl_str what = {0};
    sl_str_addf(&what, "At %.1f s you said ", step->start_s);
    sl_marking_add_settings(&what, &said);
    sl_str_add(&what, "; the order here is ");
    sl_marking_add_settings(&what, &right);
    sl_str_add(&what, ".");
    marking->n_unpaired_orders++;
    return sl_marking_fault(marking, &fault, rule, &what, error);
}

/* The settings that a phase which was heard names wrongly (bits). */
static unsigned judge(struct sl_marking *marking, size_t phase)
{
    struct sl_step *step = &marking->steps[marking->phases[phase].step];
    const struct sl_wanted *wanted = &marking->mark->phases[phase].wanted;
    if (step->waited && wanted->settings.decision == SL_DECISION_WAIT) {
        step->said.decision = SL_DECISION_WAIT;
    }
    unsigned wrong = wrong_settings(&step->said, wanted);
    return wrong != 0 || step->settled != SL_SETTLED_WRONG
               ? wrong
               : sl_marking_judged(marking, phase) & sl_settings_named(&wanted->settings);
}

enum sl_status sl_marking_settings(struct sl_marking *marking, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t phase = 0; phase < marking->routine->n_phases && status == SL_OK; phase++) {
        if (marking->phases[phase].step != SL_STEP_NONE) {
            unsigned wrong = judge(marking, phase);
            marking->phases[phase].wrong = wrong;
            status = wrong != 0 ? add_wrong(marking, phase, error) : SL_OK;
        }
    }
    for (size_t i = 0; i < marking->routine->n_rules && status == SL_OK; i++) {
        const struct sl_rule *rule = &marking->routine->rules[i];
        if (rule->kind == SL_RULE_MIRROR_ORDER) {
            status = add_mirror_order(marking, rule, error);
        }
    }
    return status;
}
