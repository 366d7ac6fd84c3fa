/* The checks of a routine, so that no later computation meets nonsense. */
#include "core/routine.h"
#include "core/units.h"

#include <string.h>

/* Widest ranges that still make sense; a routine file has reason to stay far inside. */
#define SECONDS_MAX 120.0
#define SPEED_MAX_MPH                                                                              \
    70.0 /* highest national limit for cars in Great Britain, Highway Code 124                     \
          */
#define SLOWING_MAX_MPS2 SL_GRAVITY_MPS2 /* tyres do not hold more */
#define WEIGHT_MAX 1000.0
#define GEAR_MAX 6

static bool is_blank(const char *text)
{
    return text == NULL || text[strspn(text, " \t\r\n")] == '\0';
}

/* False for what is not a number, too. */
static bool within(double value, double least, double most)
{
    return value >= least && value <= most;
}

/* One number with the range in which it must lie. */
struct number {
    const char *name;
    double value, least, most;
};

static enum sl_status check_numbers(const struct number *numbers, size_t n_numbers,
                                    struct sl_error *error)
{
    for (size_t i = 0; i < n_numbers; i++) {
        if (!within(numbers[i].value, numbers[i].least, numbers[i].most)) {
            return sl_fail(error, SL_INVALID, numbers[i].name, "choose a value in that range",
                           "%s is %g, but must lie between %g and %g", numbers[i].name,
                           numbers[i].value, numbers[i].least, numbers[i].most);
        }
    }
    return SL_OK;
}

static enum sl_status check_phase(const struct sl_routine *routine, size_t index,
                                  struct sl_error *error)
{
    const struct sl_phase *phase = &routine->phases[index];
    if (is_blank(phase->id) || is_blank(phase->title)) {
        return sl_fail(error, SL_INVALID, phase->id, "give every phase an id and a title",
                       "phase %zu has no %s", index + 1, is_blank(phase->id) ? "id" : "title");
    }
    if (sl_routine_phase(routine, phase->id) != index) {
        return sl_fail(error, SL_INVALID, phase->id, "give every phase an id of its own",
                       "two phases are called '%s'", phase->id);
    }
    if (sl_moment_word(phase->moment) == NULL) {
        return sl_fail(error, SL_INVALID, phase->id,
                       "choose mirrors, signal, position, brake, gear or decide",
                       "phase '%s' has no moment of the approach", phase->id);
    }
    if ((phase->carries & ~(unsigned)SL_SET_ALL) != 0) {
        return sl_fail(error, SL_INVALID, phase->id, "carry known settings only",
                       "phase '%s' carries a setting that does not exist", phase->id);
    }
    if ((phase->required & ~phase->carries) != 0) {
        return sl_fail(error, SL_INVALID, phase->id, "add it to what the phase carries",
                       "phase '%s' requires a setting that it does not carry", phase->id);
    }
    return SL_OK;
}

static enum sl_status check_phases(const struct sl_routine *routine, struct sl_error *error)
{
    if (routine->n_phases < 1 || routine->n_phases > SL_PHASE_MAX) {
        return sl_fail(error, SL_INVALID, "phases", "list the phases in order",
                       "a routine has 1 to %d phases, this one %zu", SL_PHASE_MAX,
                       routine->n_phases);
    }
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < routine->n_phases && status == SL_OK; i++) {
        status = check_phase(routine, i, error);
    }
    return status;
}

static enum sl_status check_rule(const struct sl_routine *routine, size_t index,
                                 struct sl_error *error)
{
    const struct sl_rule *rule = &routine->rules[index];
    if (is_blank(rule->id) || is_blank(rule->text) || is_blank(rule->reason)) {
        return sl_fail(error, SL_INVALID, rule->id, "give every rule an id, a text and a reason",
                       "rule %zu lacks its %s", index + 1,
                       is_blank(rule->id)     ? "id"
                       : is_blank(rule->text) ? "text"
                                              : "reason");
    }
    if ((unsigned)rule->kind >= SL_RULE_KIND_COUNT) {
        return sl_fail(error, SL_INVALID, rule->id,
                       "choose after, rolling, look-first or mirror-order",
                       "rule '%s' is of no known kind", rule->id);
    }
    if (rule->phase >= routine->n_phases ||
        (rule->kind == SL_RULE_AFTER && rule->other >= routine->n_phases)) {
        return sl_fail(error, SL_INVALID, rule->id, "name a phase of this routine",
                       "rule '%s' is about a phase that does not exist", rule->id);
    }
    if (rule->kind == SL_RULE_AFTER && rule->phase == rule->other) {
        return sl_fail(error, SL_INVALID, rule->id, "name two different phases",
                       "rule '%s' wants a phase to come after itself", rule->id);
    }
    if (!within(rule->seconds, 0, SECONDS_MAX)) {
        return sl_fail(error, SL_INVALID, rule->id, "choose a time in that range",
                       "rule '%s' has %g s, but must have between 0 and %g", rule->id,
                       rule->seconds, SECONDS_MAX);
    }
    return SL_OK;
}

/* Speed and gear are always there, as the approach plan is built on them. */
static enum sl_status check_wanted(const struct sl_wanted *wanted, const char *where,
                                   struct sl_error *error)
{
    double most_mps = sl_mps_from_mph(SPEED_MAX_MPH);
    double speed_mps = wanted->settings.speed_mps;
    if (!within(speed_mps, 0, most_mps) || speed_mps <= 0) {
        return sl_fail(error, SL_INVALID, where, "give a speed above 0 and up to 70 mph",
                       "the speed is %g mph", sl_mph_from_mps(speed_mps));
    }
    if (!within(wanted->speed_min_mps, 0, speed_mps) ||
        !within(wanted->speed_max_mps, speed_mps, most_mps)) {
        return sl_fail(error, SL_INVALID, where, "choose limits on either side of the speed",
                       "%g mph does not lie between the limits %g and %g mph",
                       sl_mph_from_mps(speed_mps), sl_mph_from_mps(wanted->speed_min_mps),
                       sl_mph_from_mps(wanted->speed_max_mps));
    }
    if (wanted->settings.gear < 1 || wanted->settings.gear > GEAR_MAX) {
        return sl_fail(error, SL_INVALID, where, "choose a gear from 1 to 6", "the gear is %d",
                       wanted->settings.gear);
    }
    return SL_OK;
}

static enum sl_status check_views(const struct sl_routine *routine, struct sl_error *error)
{
    for (size_t view = 0; view < SL_VIEW_COUNT; view++) {
        const char *where = view == SL_VIEW_OPEN ? "open" : "closed";
        enum sl_status status = check_wanted(&routine->view[view], where, error);
        if (status != SL_OK) {
            return status;
        }
        if (routine->view[view].settings.decision != SL_DECISION_UNSAID) {
            return sl_fail(error, SL_INVALID, where,
                           "leave it out: the junction's traffic settles the decision",
                           "a view asks for a decision");
        }
    }
    return check_wanted(&routine->stop, "stop line", error);
}

static enum sl_status check_timing(const struct sl_timing *timing, struct sl_error *error)
{
    const struct number numbers[] = {
        {"comfortable slowing", timing->comfort_mps2, 0.1, SLOWING_MAX_MPS2},
        {"firm slowing", timing->firm_mps2, timing->comfort_mps2, SLOWING_MAX_MPS2},
        {"reaction", timing->reaction_s, 0, SECONDS_MAX},
        {"rolling", timing->rolling_s, 0, SECONDS_MAX},
        {"rolling margin", timing->rolling_margin_s, 0, SECONDS_MAX},
        {"gear change", timing->gear_change_s, 0, SECONDS_MAX},
        {"announcement", timing->announce_s, 0, SECONDS_MAX},
        {"step", timing->step_s, 0, SECONDS_MAX},
        {"early allowance", timing->early_s, 0, SECONDS_MAX},
        {"time at the line", timing->at_line_s, 0, SECONDS_MAX},
    };
    return check_numbers(numbers, sizeof numbers / sizeof *numbers, error);
}

static enum sl_status check_scoring(const struct sl_scoring *scoring, struct sl_error *error)
{
    const struct number numbers[] = {
        {"weight of order", scoring->weight_order, 0, WEIGHT_MAX},
        {"weight of completeness", scoring->weight_completeness, 0, WEIGHT_MAX},
        {"weight of settings", scoring->weight_settings, 0, WEIGHT_MAX},
        {"weight of timing", scoring->weight_timing, 0, WEIGHT_MAX},
        {"seconds to a timing score of 0", scoring->timing_zero_s, 0.1, SECONDS_MAX},
        {"penalty for an extra", scoring->extra_penalty, 0, 100},
        {"share for an unclear phase", scoring->unclear_share, 0, 1},
    };
    enum sl_status status = check_numbers(numbers, sizeof numbers / sizeof *numbers, error);
    /* Timing alone does not do: an untimed mark is made of the other three. */
    if (status == SL_OK &&
        scoring->weight_order + scoring->weight_completeness + scoring->weight_settings <= 0) {
        return sl_fail(error, SL_INVALID, "scoring", "give one of them a weight above 0",
                       "order, completeness and settings all weigh nothing");
    }
    return status;
}

static bool has_phrase(const struct sl_phrasebook *book, size_t phase)
{
    for (size_t i = 0; i < book->n_phrases; i++) {
        if (book->phrases[i].phase == phase) {
            return true;
        }
    }
    return false;
}

static enum sl_status check_phrases(const struct sl_routine *routine, struct sl_error *error)
{
    const struct sl_phrasebook *book = &routine->phrasebook;
    for (size_t i = 0; i < book->n_phrases; i++) {
        size_t phase = book->phrases[i].phase;
        if (phase >= routine->n_phases && phase != SL_PHRASE_FILLER &&
            phase != SL_PHRASE_CORRECTION) {
            return sl_fail(error, SL_INVALID, book->phrases[i].pattern,
                           "name a phase of this routine",
                           "a phrase belongs to a phase that does not exist");
        }
    }
    for (size_t i = 0; i < routine->n_phases; i++) {
        if (!has_phrase(book, i)) {
            return sl_fail(error, SL_INVALID, routine->phases[i].id, "add a way to say it",
                           "phase '%s' has no phrase", routine->phases[i].id);
        }
    }
    return SL_OK;
}

static enum sl_status check_texts(const struct sl_routine *routine, struct sl_error *error)
{
    if (is_blank(routine->name) || is_blank(routine->title)) {
        return sl_fail(error, SL_INVALID, routine->name, "give the routine a name and a title",
                       "the routine has no %s", is_blank(routine->name) ? "name" : "title");
    }
    for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
        if (is_blank(routine->why[kind])) {
            return sl_fail(error, SL_INVALID, "why", "add a sentence for the learner",
                           "there is no general reason for the fault '%s'",
                           sl_fault_word((enum sl_fault_kind)kind));
        }
    }
    return SL_OK;
}

enum sl_status sl_routine_check(const struct sl_routine *routine, struct sl_error *error)
{
    enum sl_status status = check_texts(routine, error);
    if (status == SL_OK) {
        status = check_phases(routine, error);
    }
    for (size_t i = 0; i < routine->n_rules && status == SL_OK; i++) {
        status = check_rule(routine, i, error);
    }
    if (status == SL_OK) {
        status = check_views(routine, error);
    }
    if (status == SL_OK) {
        status = check_timing(&routine->timing, error);
    }
    if (status == SL_OK) {
        status = check_scoring(&routine->scoring, error);
    }
    return status == SL_OK ? check_phrases(routine, error) : status;
}
