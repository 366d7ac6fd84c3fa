/*
 * What came of the words: each judge looks at the trace's figures for what its phase brings about.
 */
#include "core/drive_judge.h"

#include "core/drive_parts.h"
#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>

/* What is felt, all common practice without a source. */
#define FELT_JUDDER_S 0.3
#define FELT_JOLT_MPS2 (-2.0)
#define FELT_COASTING_S 1.0
#define NEAR 0.1              /* of the target speed: as good as it */
#define SHORT_M 5.0           /* a car at rest so far away has not come to the line */
#define STILL_SLOWING_MPS 0.5 /* above the speed named */

size_t sl_drive_phase(const struct sl_routine *routine, enum sl_moment moment)
{
    for (size_t i = 0; i < routine->n_phases; i++) {
        if (routine->phases[i].moment == moment) {
            return i;
        }
    }
    return routine->n_phases;
}

size_t sl_drive_carrier(const struct sl_routine *routine, enum sl_setting setting)
{
    for (size_t i = 0; i < routine->n_phases; i++) {
        if ((routine->phases[i].carries & (unsigned)setting) != 0) {
            return i;
        }
    }
    return routine->n_phases;
}

/* A rule of the routine that orders the phase knows best why; else the phase; else the routine. */
static const char *reason_of(const struct sl_drive_judge *judge, enum sl_fault_kind fault)
{
    const struct sl_routine *routine = judge->driving->task->routine;
    for (size_t i = 0; fault == SL_FAULT_OUT_OF_ORDER && i < routine->n_rules; i++) {
        const struct sl_rule *rule = &routine->rules[i];
        if (rule->kind == SL_RULE_AFTER &&
            (rule->phase == judge->phase || rule->other == judge->phase)) {
            return rule->reason;
        }
    }
    const char *why = routine->phases[judge->phase].why[fault];
    return why != NULL ? why : routine->why[fault];
}

void sl_drive_tell(struct sl_drive_judge *judge, enum sl_consequence_kind kind, const char *what,
                   ...)
{
    struct sl_drive *drive = judge->drive;
    if (judge->status != SL_OK) {
        return;
    }
    struct sl_str text = {0};
    va_list args;
    va_start(args, what);
    sl_str_vaddf(&text, what, args);
    va_end(args);
    sl_str_capital(&text, 0);
    const char *reason = reason_of(judge, sl_consequence_fault(kind));
    struct sl_consequence told = {.kind = kind,
                                  .phase = judge->phase,
                                  .what = sl_str_take(&text),
                                  .reason = sl_strdup(reason),
                                  .unclear = judge->said[judge->phase].unclear};
    struct sl_consequence *list = sl_grow(drive->consequences, drive->n_consequences,
                                          &drive->consequences_room, sizeof *drive->consequences);
    drive->consequences = list != NULL ? list : drive->consequences;
    if (list == NULL || told.what == NULL || (reason != NULL && told.reason == NULL)) {
        free(told.what);
        free(told.reason);
        judge->status = sl_fail_memory(judge->error);
        return;
    }
    list[drive->n_consequences++] = told;
}

struct sl_wanted sl_drive_wanted(const struct sl_drive_judge *judge)
{
    const struct sl_task *task = judge->driving->task;
    return sl_routine_wanted(task->routine, judge->phase, task->junction, task->plan->view);
}

/* The car was past the line already. */
static bool after_line(const struct sl_drive_judge *judge, double at_s)
{
    return judge->drive->arrival.reached && at_s > judge->drive->arrival.line_s;
}

/* Rolling was short: was the slowing done too late for it, or the gear? */
static bool slowed_in_time(const struct sl_drive_judge *judge)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    const struct sl_timing *timing = &judge->driving->task->routine->timing;
    double left_s = arrival->line_s - arrival->slow_to_s;
    return left_s >= timing->rolling_s + timing->gear_change_s - SL_DRIVE_SPARE_S;
}

static bool too_fast(const struct sl_drive_judge *judge)
{
    const struct sl_task *task = judge->driving->task;
    const struct sl_arrival *arrival = &judge->drive->arrival;
    size_t phase = sl_drive_carrier(task->routine, SL_SET_SPEED);
    if (phase >= task->routine->n_phases) {
        return false;
    }
    struct sl_wanted wanted =
        sl_routine_wanted(task->routine, phase, task->junction, task->plan->view);
    double most_mps = fmax(wanted.speed_max_mps, task->plan->target_mps * (1.0 + NEAR));
    return arrival->reached && arrival->speed_mps > most_mps;
}

/* At a speed that is right, little time is left for looking. */
static bool rolling_short(const struct sl_drive_judge *judge)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    double least_s = judge->driving->task->routine->timing.rolling_s - SL_DRIVE_SPARE_S;
    return isnan(arrival->stalled_s) && arrival->rolling_s < least_s && !too_fast(judge);
}

static double rolling_of(const struct sl_arrival *arrival)
{
    return isnan(arrival->rolling_s) ? 0.0 : arrival->rolling_s;
}

static void judge_line_speed(struct sl_drive_judge *judge, const struct sl_wanted *wanted)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    double target_mps = judge->driving->task->plan->target_mps;
    double least_mps = fmin(wanted->speed_min_mps, target_mps * (1.0 - NEAR));
    bool waits = !isnan(arrival->stands_m) || !arrival->reached;
    if (too_fast(judge)) {
        sl_drive_tell(judge, SL_TOO_FAST,
                      "The car came to the line at %.0f mph, %.0f mph was right, and %.1f s were "
                      "left for looking",
                      sl_mph_from_mps(arrival->speed_mps), sl_mph_from_mps(target_mps),
                      rolling_of(arrival));
    } else if (isnan(arrival->stalled_s) && arrival->stands_m > SHORT_M) {
        sl_drive_tell(judge, SL_TOO_SLOW, "The car came to rest %.0f m before the line",
                      arrival->stands_m);
    } else if (!waits && isnan(arrival->stalled_s) && arrival->speed_mps < least_mps) {
        sl_drive_tell(judge, SL_TOO_SLOW,
                      "The car crept to the line at %.0f mph where %.0f mph was right",
                      sl_mph_from_mps(arrival->speed_mps), sl_mph_from_mps(target_mps));
    }
}

static void judge_speed(struct sl_drive_judge *judge)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    const struct sl_task *task = judge->driving->task;
    const struct sl_window *window = &task->plan->windows[judge->phase];
    const struct sl_drive_said *said = &judge->said[judge->phase];
    const struct sl_wanted wanted = sl_drive_wanted(judge);
    if (said->heard && said->settings.speed_mps <= 0.0 && isnan(arrival->slow_to_s)) {
        sl_drive_tell(judge, SL_NO_SPEED_NAMED,
                      "No speed was named: the foot came off the accelerator and no more, and the "
                      "car came to the line at %.0f mph",
                      sl_mph_from_mps(arrival->speed_mps));
        return;
    }
    if (!said->heard) {
        sl_drive_tell(judge, SL_NEVER_SLOWED,
                      "Nobody asked for a slower speed; the car came to the line at %.0f mph, "
                      "%.0f mph was right",
                      sl_mph_from_mps(arrival->speed_mps), sl_mph_from_mps(task->plan->target_mps));
        return;
    }
    if (arrival->slow_from_s < window->opens_s - SL_DRIVE_SPARE_S) {
        sl_drive_tell(judge, SL_SLOWED_EARLY,
                      "The car slowed %.0f s too early, %.0f m before the line",
                      window->opens_s - arrival->slow_from_s,
                      sl_plan_distance_m(task->plan, arrival->slow_from_s));
    }
    if (isnan(arrival->slow_to_s) || (rolling_short(judge) && !slowed_in_time(judge))) {
        sl_drive_tell(
            judge, SL_SLOWED_LATE,
            "The slowing came so late that %.1f s of rolling were left; it was %.1f m/s2, "
            "planned were %.1f",
            rolling_of(arrival), arrival->firmest_mps2, task->plan->slowing_mps2);
    }
    judge_line_speed(judge, &wanted);
}

static const char *gear_word(int gear)
{
    static const char *const words[] = {"first", "second", "third", "fourth", "fifth", "sixth"};
    return words[gear >= 1 && gear <= SL_GEAR_MAX ? gear - 1 : 0];
}

/* The order of speed and gear, and the time of the gear. */
static void judge_gear_time(struct sl_drive_judge *judge)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    size_t phase = sl_drive_carrier(judge->driving->task->routine, SL_SET_SPEED);
    const struct sl_drive_said *speed =
        phase < judge->driving->task->routine->n_phases ? &judge->said[phase] : NULL;
    bool apart = phase != judge->phase;
    if (apart && speed != NULL && speed->heard && speed->at_s > judge->gear_at_s) {
        sl_drive_tell(judge, SL_GEAR_BEFORE_SPEED,
                      "The gear went in at %.0f mph, before the car was told to slow",
                      sl_mph_from_mps(arrival->gear_from_mps));
    } else if (arrival->gear_from_s < arrival->slow_to_s - SL_DRIVE_SPARE_S && speed != NULL &&
               arrival->gear_from_mps > speed->settings.speed_mps + STILL_SLOWING_MPS) {
        sl_drive_tell(judge, SL_GEAR_WHILE_SLOWING,
                      "The gear went in at %.0f mph, and for %.1f s nobody braked",
                      sl_mph_from_mps(arrival->gear_from_mps),
                      judge->driving->task->routine->timing.gear_change_s);
    }
    if (rolling_short(judge) && slowed_in_time(judge)) {
        sl_drive_tell(judge, SL_GEAR_LATE,
                      "The gear was in %.1f s before the line; %.0f s are for looking",
                      arrival->rolling_s, judge->driving->task->routine->timing.rolling_s);
    }
}

static void judge_clutch(struct sl_drive_judge *judge, enum sl_clutch wanted)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    if (arrival->coasting_s > FELT_COASTING_S && wanted != SL_CLUTCH_DOWN) {
        sl_drive_tell(judge, SL_COASTING,
                      "The car coasted for %.0f s with the clutch down, and nothing but the brakes "
                      "held it",
                      arrival->coasting_s);
    } else if (arrival->coasting_s > FELT_COASTING_S) {
        sl_drive_tell(judge, SL_COASTING, "The clutch was down for %.0f s at more than a walk",
                      arrival->coasting_s);
    }
    bool called = !isnan(arrival->gear_from_s) && !after_line(judge, arrival->gear_from_s);
    if (wanted == SL_CLUTCH_DOWN && called && !arrival->clutch_down && isnan(arrival->stalled_s)) {
        sl_drive_tell(judge, SL_CLUTCH_UP_AT_LINE,
                      "The clutch was up at the line: a stop there stalls the engine");
    }
}

static void judge_engine(struct sl_drive_judge *judge)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    if (arrival->jolt_mps2 < FELT_JOLT_MPS2) {
        sl_drive_tell(judge, SL_JOLT,
                      "The car jerked as the clutch came up: %.1f m/s2, harder than firm braking",
                      -arrival->jolt_mps2);
    }
    if (!isnan(arrival->stalled_s)) {
        sl_drive_tell(judge, SL_STALL, "The engine stalled %.0f m before the line in %s gear",
                      fmax(arrival->stalled_m, 0.0), gear_word(arrival->stalled_gear));
    } else if (arrival->judder_s > FELT_JUDDER_S) {
        sl_drive_tell(judge, SL_JUDDER,
                      "The engine juddered for %.1f s at down to %.0f rpm in %s "
                      "gear",
                      arrival->judder_s, arrival->judder_rpm, gear_word(arrival->judder_gear));
    }
}

/* A routine that names speed and gear in one phase misses both as one. */
static bool missed_with_speed(const struct sl_drive_judge *judge)
{
    unsigned carries = judge->driving->task->routine->phases[judge->phase].carries;
    return (carries & SL_SET_SPEED) != 0 && !judge->said[judge->phase].heard;
}

static void judge_gear(struct sl_drive_judge *judge)
{
    const struct sl_arrival *arrival = &judge->drive->arrival;
    const struct sl_settings wanted = sl_drive_wanted(judge).settings;
    if (missed_with_speed(judge)) {
        /* told as never slowed */
    } else if (isnan(arrival->gear_from_s) || after_line(judge, arrival->gear_from_s)) {
        sl_drive_tell(judge, SL_NO_GEAR,
                      "Nobody called a gear before the line; %s was in there, %s is right",
                      gear_word(arrival->gear), gear_word(wanted.gear));
    } else {
        judge_gear_time(judge);
        if (wanted.gear > 0 && arrival->gear != wanted.gear) {
            sl_drive_tell(judge, SL_WRONG_GEAR, "%s gear was in at the line, %s is right",
                          gear_word(arrival->gear), gear_word(wanted.gear));
        }
    }
    judge_engine(judge);
    judge_clutch(judge, wanted.clutch);
}

static void gather(struct sl_drive_judge *judge)
{
    const struct sl_task *task = judge->driving->task;
    const struct sl_heard_list *heard = judge->driving->heard;
    judge->gear_at_s = NAN;
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        double at_s = item->start_s - task->options.from_s;
        if (!sl_drive_hears(task, item)) {
            if (item->phase < task->routine->n_phases && item->unclear) {
                judge->said[item->phase].unclear = true;
            }
            continue;
        }
        struct sl_drive_said *said = &judge->said[item->phase];
        said->at_s = said->heard ? said->at_s : at_s;
        said->heard = true;
        sl_settings_merge(&said->settings, &item->settings);
        if (item->settings.gear > 0 && isnan(judge->gear_at_s)) {
            judge->gear_at_s = at_s;
        }
    }
    for (size_t i = 0; i < task->routine->n_phases; i++) {
        judge->said[i].unclear = judge->said[i].unclear && !judge->said[i].heard;
    }
}

enum sl_status sl_drive_judge(const struct sl_driving *driving, struct sl_drive *drive,
                              struct sl_error *error)
{
    struct sl_drive_judge judge = {.driving = driving, .drive = drive, .error = error};
    const struct sl_routine *routine = driving->task->routine;
    gather(&judge);
    for (judge.phase = 0; judge.phase < routine->n_phases; judge.phase++) {
        unsigned carries = routine->phases[judge.phase].carries;
        sl_drive_judge_words(&judge);
        if ((carries & SL_SET_SPEED) != 0) {
            judge_speed(&judge);
        }
        if ((carries & SL_SET_GEAR) != 0) {
            judge_gear(&judge);
        }
        if (routine->phases[judge.phase].moment == SL_MOMENT_DECIDE) {
            sl_drive_judge_decision(&judge);
        }
    }
    return judge.status;
}
