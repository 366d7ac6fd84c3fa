#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/routine.h"
#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Phases of the sample routine. */
enum { MIRRORS, SIGNAL, SPEED, GEAR, DECIDE, N_PHASES };

static struct sl_phase *new_phases(void)
{
    static const struct {
        const char *id, *title;
        enum sl_moment moment;
        unsigned carries;
    } rows[N_PHASES] = {
        {"mirrors", "Mirrors", SL_MOMENT_MIRRORS, SL_SET_MIRRORS},
        {"signal", "Signal", SL_MOMENT_SIGNAL, SL_SET_SIGNAL},
        {"speed", "Speed", SL_MOMENT_BRAKE, SL_SET_SPEED},
        {"gear", "Gear", SL_MOMENT_GEAR, SL_SET_GEAR | SL_SET_CLUTCH},
        {"decide", "Decide", SL_MOMENT_DECIDE, SL_SET_DECISION},
    };
    struct sl_phase *phases = calloc(N_PHASES, sizeof *phases);
    assert_non_null(phases);
    for (size_t i = 0; i < N_PHASES; i++) {
        phases[i].id = sl_strdup(rows[i].id);
        phases[i].title = sl_strdup(rows[i].title);
        phases[i].moment = rows[i].moment;
        phases[i].carries = rows[i].carries;
        phases[i].required = rows[i].carries & ~(unsigned)SL_SET_CLUTCH;
        phases[i].why[SL_FAULT_MISSED] = sl_strdup("it keeps you safe");
    }
    return phases;
}

static struct sl_rule *new_rules(void)
{
    struct sl_rule *rules = calloc(2, sizeof *rules);
    assert_non_null(rules);
    rules[0] = (struct sl_rule){.id = sl_strdup("gear-after-speed"),
                                .kind = SL_RULE_AFTER,
                                .phase = GEAR,
                                .other = SPEED,
                                .text = sl_strdup("gear after speed"),
                                .reason = sl_strdup("the gear fits the speed you have then")};
    rules[1] = (struct sl_rule){.id = sl_strdup("rolling"),
                                .kind = SL_RULE_ROLLING,
                                .phase = GEAR,
                                .seconds = 5,
                                .text = sl_strdup("5 s of rolling"),
                                .reason = sl_strdup("time to look")};
    return rules;
}

static struct sl_routine new_routine(void)
{
    struct sl_routine routine = {
        .name = sl_strdup("sample"),
        .title = sl_strdup("Sample"),
        .phases = new_phases(),
        .n_phases = N_PHASES,
        .rules = new_rules(),
        .n_rules = 2,
        .view =
            {{.settings = {.speed_mps = sl_mps_from_mph(10), .gear = 2, .clutch = SL_CLUTCH_UP},
              .speed_min_mps = sl_mps_from_mph(8),
              .speed_max_mps = sl_mps_from_mph(12)},
             {.settings = {.speed_mps = sl_mps_from_mph(4), .gear = 1, .clutch = SL_CLUTCH_DOWN},
              .speed_max_mps = sl_mps_from_mph(5)}},
        .stop = {.settings = {.speed_mps = sl_mps_from_mph(3),
                              .gear = 1,
                              .clutch = SL_CLUTCH_DOWN,
                              .decision = SL_DECISION_WAIT},
                 .speed_max_mps = sl_mps_from_mph(4)},
        .turn = {{.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT},
                  .n_mirrors = 2,
                  .signal = SL_SIGNAL_LEFT,
                  .position = SL_POSITION_LEFT},
                 {.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_RIGHT},
                  .n_mirrors = 2,
                  .signal = SL_SIGNAL_RIGHT,
                  .position = SL_POSITION_RIGHT},
                 {.mirrors = {SL_MIRROR_INTERIOR}, .n_mirrors = 1, .signal = SL_SIGNAL_NONE}},
        .timing = {.comfort_mps2 = 1.5, .firm_mps2 = 2.5, .reaction_s = 1, .rolling_s = 5},
        .scoring = {.weight_order = 1, .timing_zero_s = 4, .unclear_share = 0.5},
    };
    for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
        routine.why[kind] = sl_strdup("because");
    }
    struct sl_phrase *phrases = calloc(N_PHASES + 2, sizeof *phrases);
    assert_non_null(phrases);
    for (size_t i = 0; i < N_PHASES + 2; i++) {
        phrases[i].phase = i < N_PHASES    ? i
                           : i == N_PHASES ? SL_PHRASE_FILLER
                                           : SL_PHRASE_CORRECTION;
        phrases[i].pattern = sl_strdup("a word");
    }
    routine.phrasebook.phrases = phrases;
    routine.phrasebook.n_phrases = N_PHASES + 2;
    return routine;
}

static void faults_and_moments_have_words(void **state)
{
    (void)state;
    assert_string_equal(sl_fault_word(SL_FAULT_MISSED), "missed");
    assert_string_equal(sl_fault_word(SL_FAULT_OUT_OF_ORDER), "out-of-order");
    assert_string_equal(sl_fault_word(SL_FAULT_UNCLEAR), "unclear");
    assert_null(sl_fault_word(SL_FAULT_KIND_COUNT));
    for (size_t i = 0; i < SL_MOMENT_COUNT; i++) {
        const char *word = sl_moment_word((enum sl_moment)i);
        assert_int_equal(sl_moment_from_word(word), i);
    }
    assert_string_equal(sl_moment_word(SL_MOMENT_BRAKE), "brake");
    assert_null(sl_moment_word(SL_MOMENT_COUNT));
    assert_int_equal(sl_moment_from_word("speed"), SL_MOMENT_COUNT);
}

static void a_phase_is_found_by_its_id(void **state)
{
    (void)state;
    struct sl_routine routine = new_routine();
    assert_int_equal(sl_routine_phase(&routine, "mirrors"), MIRRORS);
    assert_int_equal(sl_routine_phase(&routine, "decide"), DECIDE);
    assert_int_equal(sl_routine_phase(&routine, "Gear"), N_PHASES);
    sl_routine_clear(&routine);
}

static void what_is_wanted_follows_turn_view_and_stop_line(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct sl_junction junction;
        enum sl_view view;
        const char *wanted[N_PHASES];
    } rows[] = {
        {"left, open",
         {.control = SL_CONTROL_GIVE_WAY, .turn = SL_TURN_LEFT},
         SL_VIEW_OPEN,
         {"interior and left mirror", "signal left", "10 mph", "second gear, clutch up", ""}},
        {"right, closed",
         {.control = SL_CONTROL_GIVE_WAY, .turn = SL_TURN_RIGHT},
         SL_VIEW_CLOSED,
         {"interior and right mirror", "signal right", "4 mph", "first gear, clutch down", ""}},
        {"ahead: no signal",
         {.control = SL_CONTROL_LIGHTS, .turn = SL_TURN_AHEAD},
         SL_VIEW_OPEN,
         {"interior mirror", "no signal", "10 mph", "second gear, clutch up", ""}},
        {"a signal would mislead",
         {.turn = SL_TURN_LEFT, .signal_misleads = true},
         SL_VIEW_OPEN,
         {"interior and left mirror", "no signal", "10 mph", "second gear, clutch up", ""}},
        {"clear",
         {.turn = SL_TURN_LEFT, .traffic = SL_TRAFFIC_CLEAR},
         SL_VIEW_CLOSED,
         {"interior and left mirror", "signal left", "4 mph", "first gear, clutch down", "go"}},
        {"busy, lights",
         {.control = SL_CONTROL_LIGHTS, .turn = SL_TURN_LEFT, .traffic = SL_TRAFFIC_BUSY},
         SL_VIEW_OPEN,
         {"interior and left mirror", "signal left", "10 mph", "second gear, clutch up", "wait"}},
        {"a stop line means stopping, whatever the view",
         {.control = SL_CONTROL_STOP, .turn = SL_TURN_RIGHT},
         SL_VIEW_OPEN,
         {"interior and right mirror", "signal right", "3 mph", "first gear, clutch down", "wait"}},
        {"a stop line means stopping, whatever the traffic",
         {.control = SL_CONTROL_STOP, .turn = SL_TURN_RIGHT, .traffic = SL_TRAFFIC_CLEAR},
         SL_VIEW_CLOSED,
         {"interior and right mirror", "signal right", "3 mph", "first gear, clutch down", "wait"}},
    };
    struct sl_routine routine = new_routine();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (size_t phase = 0; phase < N_PHASES; phase++) {
            struct sl_wanted wanted =
                sl_routine_wanted(&routine, phase, &rows[i].junction, rows[i].view);
            char *words = sl_settings_words(&wanted.settings);
            if (strcmp(words, rows[i].wanted[phase]) != 0) {
                fail_msg("%s, phase %zu: '%s' instead of '%s'", rows[i].name, phase, words,
                         rows[i].wanted[phase]);
            }
            free(words);
        }
    }
    sl_routine_clear(&routine);
}

static void limits_of_speed_come_with_the_speed_only(void **state)
{
    (void)state;
    struct sl_routine routine = new_routine();
    struct sl_junction junction = {.turn = SL_TURN_LEFT};
    struct sl_wanted speed = sl_routine_wanted(&routine, SPEED, &junction, SL_VIEW_OPEN);
    assert_float_equal(sl_mph_from_mps(speed.speed_min_mps), 8, 1e-9);
    assert_float_equal(sl_mph_from_mps(speed.speed_max_mps), 12, 1e-9);
    junction.control = SL_CONTROL_STOP;
    speed = sl_routine_wanted(&routine, SPEED, &junction, SL_VIEW_OPEN);
    assert_float_equal(sl_mph_from_mps(speed.speed_max_mps), 4, 1e-9);
    struct sl_wanted gear = sl_routine_wanted(&routine, GEAR, &junction, SL_VIEW_OPEN);
    assert_float_equal(gear.speed_min_mps, 0, 1e-12);
    assert_float_equal(gear.speed_max_mps, 0, 1e-12);
    sl_routine_clear(&routine);
}

static void a_phase_that_carries_nothing_wants_nothing(void **state)
{
    (void)state;
    struct sl_routine routine = new_routine();
    struct sl_junction junction = {.traffic = SL_TRAFFIC_CLEAR, .signal_misleads = true};
    for (size_t i = 0; i < N_PHASES; i++) {
        routine.phases[i].carries = 0;
        struct sl_wanted wanted = sl_routine_wanted(&routine, i, &junction, SL_VIEW_CLOSED);
        assert_int_equal(sl_settings_named(&wanted.settings), 0);
        assert_float_equal(wanted.speed_max_mps, 0, 1e-12);
    }
    routine.phases[GEAR].carries = SL_SET_ALL;
    struct sl_wanted all = sl_routine_wanted(&routine, GEAR, &junction, SL_VIEW_CLOSED);
    assert_int_equal(sl_settings_named(&all.settings), SL_SET_ALL);
    sl_routine_clear(&routine);
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
    set_text(&routine->rules[1].reason, NULL);
}
static void no_rule_kind(struct sl_routine *routine)
{
    routine->rules[0].kind = SL_RULE_KIND_COUNT;
}
static void rule_about_no_phase(struct sl_routine *routine)
{
    routine->rules[1].phase = N_PHASES;
}
static void rule_after_no_phase(struct sl_routine *routine)
{
    routine->rules[0].other = N_PHASES;
}
static void rule_after_itself(struct sl_routine *routine)
{
    routine->rules[0].other = routine->rules[0].phase;
}
static void rule_before_time(struct sl_routine *routine)
{
    routine->rules[1].seconds = -1;
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
    routine->phrasebook.phrases[0].phase = N_PHASES;
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
        {no_rule_reason, "rule 2 lacks its reason"},
        {no_rule_kind, "rule 'gear-after-speed' is of no known kind"},
        {rule_about_no_phase, "rule 'rolling' is about a phase"},
        {rule_after_no_phase, "rule 'gear-after-speed' is about a phase"},
        {rule_after_itself, "come after itself"},
        {rule_before_time, "rule 'rolling' has -1 s"},
        {no_speed, "the speed is 0 mph"},
        {speed_of_300, "the speed is 300 mph"},
        {speed_is_no_number, "nan mph"},
        {least_speed_above_the_speed, "10 mph does not lie between the limits 11 and 12 mph"},
        {most_speed_below_the_speed, "3 mph does not lie between the limits 0 and 0 mph"},
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
        cmocka_unit_test(faults_and_moments_have_words),
        cmocka_unit_test(a_phase_is_found_by_its_id),
        cmocka_unit_test(what_is_wanted_follows_turn_view_and_stop_line),
        cmocka_unit_test(limits_of_speed_come_with_the_speed_only),
        cmocka_unit_test(a_phase_that_carries_nothing_wants_nothing),
        cmocka_unit_test(a_whole_routine_passes_the_check),
        cmocka_unit_test(one_broken_thing_fails_the_check),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
