/*
 * A small routine, junction and plan made by hand, so that tests of the core need no file: the
 * phases and rules of decide-last with figures of its own, without a phrasebook.
 */
#ifndef SL_TESTS_ROUTINE_FIXTURE_H
#define SL_TESTS_ROUTINE_FIXTURE_H

#include <math.h>
#include <stdlib.h>

#include "core/plan.h"
#include "core/routine.h"
#include "core/str.h"
#include "core/units.h"

enum { MIRRORS, SIGNAL, SPEED, GEAR, DECIDE, FIXTURE_PHASES };

static inline void fixture_phases(struct sl_routine *routine)
{
    static const struct {
        const char *id, *title;
        enum sl_moment moment;
        unsigned carries;
    } list[FIXTURE_PHASES] = {
        {"mirrors", "Mirrors", SL_MOMENT_MIRRORS, SL_SET_MIRRORS},
        {"signal", "Signal", SL_MOMENT_SIGNAL, SL_SET_SIGNAL},
        {"speed", "Speed", SL_MOMENT_BRAKE, SL_SET_SPEED},
        {"gear", "Gear", SL_MOMENT_GEAR, (unsigned)SL_SET_GEAR | SL_SET_CLUTCH},
        {"decide", "Decide", SL_MOMENT_DECIDE, SL_SET_DECISION},
    };
    routine->phases = calloc(FIXTURE_PHASES, sizeof *routine->phases);
    routine->n_phases = FIXTURE_PHASES;
    for (size_t i = 0; i < FIXTURE_PHASES; i++) {
        routine->phases[i] = (struct sl_phase){.id = sl_strdup(list[i].id),
                                               .title = sl_strdup(list[i].title),
                                               .moment = list[i].moment,
                                               .carries = list[i].carries,
                                               .required = list[i].carries};
    }
    routine->phases[MIRRORS].why[SL_FAULT_MISSED] = sl_strdup("You must know who is behind you");
}

static inline void fixture_rules(struct sl_routine *routine)
{
    static const struct sl_rule list[] = {
        {.kind = SL_RULE_AFTER, .phase = SIGNAL, .other = MIRRORS},
        {.kind = SL_RULE_AFTER, .phase = GEAR, .other = SPEED},
        {.kind = SL_RULE_AFTER, .phase = DECIDE, .other = GEAR},
        {.kind = SL_RULE_ROLLING, .phase = GEAR, .seconds = 5},
        {.kind = SL_RULE_LOOK_FIRST, .phase = DECIDE, .seconds = 1},
        {.kind = SL_RULE_MIRROR_ORDER, .phase = MIRRORS},
    };
    static const char *const ids[] = {"signal-after-mirrors", "gear-after-speed",
                                      "decide-after-gear",    "rolling",
                                      "look-first",           "interior-first"};
    routine->n_rules = sizeof list / sizeof *list;
    routine->rules = calloc(routine->n_rules, sizeof *routine->rules);
    for (size_t i = 0; i < routine->n_rules; i++) {
        routine->rules[i] = list[i];
        routine->rules[i].id = sl_strdup(ids[i]);
        routine->rules[i].text = sl_strf("Text of %s", ids[i]);
        routine->rules[i].reason = sl_strf("Reason of %s.", ids[i]);
    }
}

/* Release with sl_routine_clear. */
static inline struct sl_routine fixture_routine(void)
{
    struct sl_routine routine = {.name = sl_strdup("fixture"), .title = sl_strdup("Fixture")};
    fixture_phases(&routine);
    fixture_rules(&routine);
    for (size_t kind = 0; kind < SL_FAULT_KIND_COUNT; kind++) {
        routine.why[kind] =
            sl_strf("General reason for %s", sl_fault_word((enum sl_fault_kind)kind));
    }
    routine.view[SL_VIEW_OPEN] = (struct sl_wanted){
        .settings = {.speed_mps = sl_mps_from_mph(10), .gear = 2, .clutch = SL_CLUTCH_UP},
        .speed_min_mps = sl_mps_from_mph(8),
        .speed_max_mps = sl_mps_from_mph(12)};
    routine.view[SL_VIEW_CLOSED] = (struct sl_wanted){
        .settings = {.speed_mps = sl_mps_from_mph(4), .gear = 1, .clutch = SL_CLUTCH_DOWN},
        .speed_min_mps = 0,
        .speed_max_mps = sl_mps_from_mph(5)};
    routine.stop = routine.view[SL_VIEW_CLOSED];
    routine.stop.settings.decision = SL_DECISION_WAIT;
    routine.turn[SL_TURN_LEFT] = (struct sl_settings){
        .mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT}, .n_mirrors = 2, .signal = SL_SIGNAL_LEFT};
    routine.turn[SL_TURN_RIGHT] =
        (struct sl_settings){.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_RIGHT},
                             .n_mirrors = 2,
                             .signal = SL_SIGNAL_RIGHT};
    routine.turn[SL_TURN_AHEAD] = (struct sl_settings){
        .mirrors = {SL_MIRROR_INTERIOR}, .n_mirrors = 1, .signal = SL_SIGNAL_NONE};
    routine.timing = (struct sl_timing){.rolling_s = 5, .gear_change_s = 1};
    routine.scoring = (struct sl_scoring){.weight_order = 3,
                                          .weight_completeness = 3,
                                          .weight_settings = 2,
                                          .weight_timing = 2,
                                          .timing_zero_s = 4,
                                          .extra_penalty = 10,
                                          .unclear_share = 0.5};
    return routine;
}

/* Left at a T that gives way, nothing to own. */
static inline struct sl_junction fixture_junction(void)
{
    return (struct sl_junction){.kind = SL_KIND_T,
                                .control = SL_CONTROL_GIVE_WAY,
                                .turn = SL_TURN_LEFT,
                                .view = SL_VIEW_OPEN,
                                .approach_mps = sl_mps_from_mph(30)};
}

/* Due at 4, 8, 12, 16 and 24 s, open from 2 s before to 2 s after; the line at 28 s, enough to be
 * seen from 23 s on. A gear that ends after 23 s leaves less than 5 s of rolling. */
static inline struct sl_plan fixture_plan(void)
{
    static const double due_s[FIXTURE_PHASES] = {4, 8, 12, 16, 24};
    struct sl_plan plan = {.view = SL_VIEW_OPEN,
                           .see_s = 23,
                           .line_s = 28,
                           .long_enough = true,
                           .n_windows = FIXTURE_PHASES};
    for (size_t i = 0; i < FIXTURE_PHASES; i++) {
        plan.windows[i] = (struct sl_window){.opens_s = due_s[i] - 2,
                                             .due_s = due_s[i],
                                             .closes_s = due_s[i] + 2,
                                             .due_m = 5 * (28 - due_s[i])};
    }
    return plan;
}

#endif
