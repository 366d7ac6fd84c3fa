#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/routine_fixture.h"

#include <string.h>

/* The fixture with phrases and timing: a routine that is whole. */
static struct sl_routine new_routine(void)
{
    struct sl_routine routine = fixture_routine();
    routine.timing.comfort_mps2 = 1.5;
    routine.timing.firm_mps2 = 2.5;
    size_t n_phrases = FIXTURE_PHASES + 2;
    struct sl_phrase *phrases = calloc(n_phrases, sizeof *phrases);
    assert_non_null(phrases);
    for (size_t i = 0; i < n_phrases; i++) {
        phrases[i].phase = i;
        phrases[i].pattern = sl_strdup("a word");
    }
    phrases[FIXTURE_PHASES].phase = SL_PHRASE_FILLER;
    phrases[FIXTURE_PHASES + 1].phase = SL_PHRASE_CORRECTION;
    routine.phrasebook.phrases = phrases;
    routine.phrasebook.n_phrases = n_phrases;
    return routine;
}

static void set_text(char **text, const char *value)
{
    free(*text);
    *text = sl_strdup(value);
}

static void a_whole_routine_passes_the_check(void **state)
{
    (void)state;
    struct sl_routine routine = new_routine();
    struct sl_error error = {0};
    if (sl_routine_check(&routine, &error) != SL_OK) {
        fail_msg("%s: %s", error.where, error.what);
    }
    sl_routine_clear(&routine);
    assert_true(routine.phases == NULL && routine.name == NULL);
    sl_routine_clear(&routine); /* and again */
}

/* Each of these breaks one thing. */
static void no_name(struct sl_routine *routine)
{
    set_text(&routine->name, " ");
}
static void no_title(struct sl_routine *routine)
{
    set_text(&routine->title, NULL);
}
static void no_general_reason(struct sl_routine *routine)
{
    set_text(&routine->why[SL_FAULT_EXTRA], "");
}
static void no_phase(struct sl_routine *routine)
{
    routine->n_phases = 0;
}
static void too_many_phases(struct sl_routine *routine)
{
    routine->n_phases = SL_PHASE_MAX + 1;
}
static void no_phase_id(struct sl_routine *routine)
{
    set_text(&routine->phases[1].id, NULL);
}
static void no_phase_title(struct sl_routine *routine)
{
    set_text(&routine->phases[1].title, "\t");
}
static void same_phase_id(struct sl_routine *routine)
{
    set_text(&routine->phases[3].id, "signal");
}
static void no_moment(struct sl_routine *routine)
{
    routine->phases[2].moment = SL_MOMENT_COUNT;
}
static void carries_nonsense(struct sl_routine *routine)
{
    routine->phases[2].carries = 1U << 9;
}
static void requires_what_it_does_not_carry(struct sl_routine *routine)
{
    routine->phases[2].required = SL_SET_GEAR;
}
static void no_rule_id(struct sl_routine *routine)
{
    set_text(&routine->rules[0].id, "");
}
static void no_rule_text(struct sl_routine *routine)
{
    set_text(&routine->rules[0].text, "");
}
static void no_rule_reason(struct sl_routine *routine)
{
    set_text(&routine->rules[3].reason, NULL);
}
static void no_rule_kind(struct sl_routine *routine)
{
    routine->rules[0].kind = SL_RULE_KIND_COUNT;
}
static void rule_about_no_phase(struct sl_routine *routine)
{
    routine->rules[3].phase = FIXTURE_PHASES;
}
static void rule_after_no_phase(struct sl_routine *routine)
{
    routine->rules[0].other = FIXTURE_PHASES;
}
static void rule_after_itself(struct sl_routine *routine)
{
    routine->rules[0].other = routine->rules[0].phase;
}
static void rule_before_time(struct sl_routine *routine)
{
    routine->rules[3].seconds = -1;
}
static void no_speed(struct sl_routine *routine)
{
    routine->view[SL_VIEW_OPEN].settings.speed_mps = 0;
}
static void speed_of_300(struct sl_routine *routine)
{
    routine->view[SL_VIEW_CLOSED].settings.speed_mps = sl_mps_from_mph(300);
}
static void speed_is_no_number(struct sl_routine *routine)
{
    routine->stop.settings.speed_mps = NAN;
}
static void least_speed_above_the_speed(struct sl_routine *routine)
{
    routine->view[SL_VIEW_OPEN].speed_min_mps = sl_mps_from_mph(11);
}
static void most_speed_below_the_speed(struct sl_routine *routine)
{
    routine->stop.speed_max_mps = 0;
}
static void no_gear(struct sl_routine *routine)
{
    routine->view[SL_VIEW_CLOSED].settings.gear = 0;
}
static void seventh_gear(struct sl_routine *routine)
{
    routine->stop.settings.gear = 7;
}
static void view_decides(struct sl_routine *routine)
{
    routine->view[SL_VIEW_CLOSED].settings.decision = SL_DECISION_WAIT;
}
static void no_slowing(struct sl_routine *routine)
{
    routine->timing.comfort_mps2 = 0;
}
static void firm_below_comfortable(struct sl_routine *routine)
{
    routine->timing.firm_mps2 = 1.4;
}
static void firmer_than_tyres(struct sl_routine *routine)
{
    routine->timing.firm_mps2 = 12;
}
static void negative_reaction(struct sl_routine *routine)
{
    routine->timing.reaction_s = -0.1;
}
static void endless_step(struct sl_routine *routine)
{
    routine->timing.step_s = INFINITY;
}
static void weight_is_no_number(struct sl_routine *routine)
{
    routine->scoring.weight_timing = NAN;
}
static void nothing_weighs(struct sl_routine *routine)
{
    routine->scoring.weight_order = 0;
    routine->scoring.weight_completeness = 0;
    routine->scoring.weight_settings = 0;
}
static void no_timing_zero(struct sl_routine *routine)
{
    routine->scoring.timing_zero_s = 0;
}
static void unclear_beyond_all(struct sl_routine *routine)
{
    routine->scoring.unclear_share = 1.01;
}
static void no_phrase(struct sl_routine *routine)
{
    routine->phrasebook.phrases[DECIDE].phase = GEAR;
}
static void phrase_of_no_phase(struct sl_routine *routine)
{
    routine->phrasebook.phrases[0].phase = FIXTURE_PHASES;
}

static void one_broken_thing_fails_the_check(void **state)
{
    (void)state;
    static const struct {
        void (*breaks)(struct sl_routine *routine);
        const char *says; /* in the text */
    } rows[] = {
        {no_name, "has no name"},
        {no_title, "has no title"},
        {no_general_reason, "the fault 'extra'"},
        {no_phase, "this one 0"},
        {too_many_phases, "this one 17"},
        {no_phase_id, "phase 2 has no id"},
        {no_phase_title, "phase 2 has no title"},
        {same_phase_id, "two phases are called 'signal'"},
        {no_moment, "phase 'speed' has no moment"},
        {carries_nonsense, "phase 'speed' carries"},
        {requires_what_it_does_not_carry, "phase 'speed' requires"},
        {no_rule_id, "rule 1 lacks its id"},
        {no_rule_text, "rule 1 lacks its text"},
        {no_rule_reason, "rule 4 lacks its reason"},
        {no_rule_kind, "rule 'signal-after-mirrors' is of no known kind"},
        {rule_about_no_phase, "rule 'rolling' is about a phase"},
        {rule_after_no_phase, "rule 'signal-after-mirrors' is about a phase"},
        {rule_after_itself, "come after itself"},
        {rule_before_time, "rule 'rolling' has -1 s"},
        {no_speed, "the speed is 0 mph"},
        {speed_of_300, "the speed is 300 mph"},
        {speed_is_no_number, "nan mph"},
        {least_speed_above_the_speed, "10 mph does not lie between the limits 11 and 12 mph"},
        {most_speed_below_the_speed, "4 mph does not lie between the limits 0 and 0 mph"},
        {no_gear, "the gear is 0"},
        {seventh_gear, "the gear is 7"},
        {view_decides, "a view asks for a decision"},
        {no_slowing, "comfortable slowing is 0"},
        {firm_below_comfortable, "firm slowing is 1.4, but must lie between 1.5"},
        {firmer_than_tyres, "firm slowing is 12"},
        {negative_reaction, "reaction is -0.1"},
        {endless_step, "step is inf"},
        {weight_is_no_number, "weight of timing is nan"},
        {nothing_weighs, "weigh nothing"},
        {no_timing_zero, "timing score of 0 is 0"},
        {unclear_beyond_all, "unclear phase is 1.01"},
        {no_phrase, "phase 'decide' has no phrase"},
        {phrase_of_no_phase, "a phrase belongs to a phase that does not exist"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_routine routine = new_routine();
        struct sl_error error = {0};
        size_t n_phases = routine.n_phases;
        rows[i].breaks(&routine);
        enum sl_status status = sl_routine_check(&routine, &error);
        if (status != SL_INVALID || strstr(error.what, rows[i].says) == NULL ||
            error.mend == NULL) {
            fail_msg("'%s' is missing from '%s'", rows[i].says,
                     error.what == NULL ? "no error" : error.what);
        }
        sl_error_clear(&error);
        routine.n_phases = n_phases;
        sl_routine_clear(&routine);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_routine_passes_the_check),
        cmocka_unit_test(one_broken_thing_fails_the_check),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
