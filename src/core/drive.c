#include "core/drive.h"

#include "core/drive_parts.h"
#include "core/str.h"

#include <math.h>
#include <stdlib.h>

/* What counts, all common practice without a source. */
#define WALK_MPS 3.0       /* faster than that, a clutch held down is coasting */
#define AWAY_M 8.0         /* a car that goes is away; it may stall until then */
#define BEHIND_LINE_M 12.0 /* the drive is over when the car is so far past the line */

#define ALIKE_S 0.5
#define ALIKE_MPS 1.0

#define STEPS_PER_SAMPLE 5 /* SL_DRIVE_SAMPLE_S / SL_MOTION_STEP_S */

const char *sl_consequence_word(enum sl_consequence_kind kind)
{
    static const char *const words[] = {
#define WORD(code, word, fault) word,
        SL_CONSEQUENCE_MAP(WORD)
#undef WORD
    };
    return words[kind];
}

enum sl_fault_kind sl_consequence_fault(enum sl_consequence_kind kind)
{
    static const enum sl_fault_kind faults[] = {
#define FAULT(code, word, fault) fault,
        SL_CONSEQUENCE_MAP(FAULT)
#undef FAULT
    };
    return faults[kind];
}

_Static_assert(SL_CONSEQUENCE_COUNT <= 64, "a set of them fits 64 bits");

bool sl_came_of_danger(uint64_t came_of)
{
    const uint64_t danger = SL_CAME_OF(SL_NEVER_SLOWED) | SL_CAME_OF(SL_NO_SPEED_NAMED) |
                            SL_CAME_OF(SL_TOO_FAST) | SL_CAME_OF(SL_STALL) |
                            SL_CAME_OF(SL_UNDECIDED) | SL_CAME_OF(SL_DECIDED_BLIND) |
                            SL_CAME_OF(SL_WENT_INTO_TRAFFIC) | SL_CAME_OF(SL_RAN_STOP_LINE) |
                            SL_CAME_OF(SL_OVER_THE_LINE);
    return (came_of & danger) != 0;
}

uint64_t sl_drive_came_of(const struct sl_drive *drive)
{
    uint64_t came_of = 0;
    for (size_t i = 0; i < drive->n_consequences; i++) {
        const struct sl_consequence *told = &drive->consequences[i];
        came_of |= told->unclear ? 0 : SL_CAME_OF(told->kind);
    }
    return came_of;
}

/* A drive under way. */
struct run {
    const struct sl_driving *driving;
    struct sl_feet feet;
    struct sl_motion motion;
    size_t next; /* phrase */
    double heard_until_s;
    bool decided;
    double busy_until_s; /* slowing and gear changes */
    bool slowed, changed;
};

static double distance_m(const struct run *run)
{
    return run->driving->task->plan->distance_m - run->motion.driven_m;
}

bool sl_drive_hears(const struct sl_task *task, const struct sl_heard *heard)
{
    bool of_announcement = (heard->start_s + heard->end_s) / 2.0 < task->options.from_s;
    return heard->phase < task->routine->n_phases && !heard->unclear && !of_announcement;
}

/* Lets the feet hear what has begun by now. */
static void hear(struct run *run)
{
    const struct sl_task *task = run->driving->task;
    const struct sl_heard_list *list = run->driving->heard;
    for (; run->next < list->count; run->next++) {
        const struct sl_heard *heard = &list->items[run->next];
        if (heard->start_s - task->options.from_s > run->motion.time_s) {
            return;
        }
        if (sl_drive_hears(task, heard)) {
            const struct sl_phase *phase = &task->routine->phases[heard->phase];
            sl_feet_hear(&run->feet, &run->motion, &heard->settings, phase);
            run->decided = run->decided || heard->settings.decision != SL_DECISION_UNSAID;
        }
    }
}

static void watch_slowing(const struct run *run, const struct run *before,
                          const struct sl_controls *controls, struct sl_arrival *arrival)
{
    double now_s = run->motion.time_s;
    if ((run->feet.slowing || run->feet.lifted) && isnan(arrival->slow_from_s)) {
        arrival->slow_from_s = before->motion.time_s;
    }
    if (run->feet.slowing && controls->brake_n > 0.0) {
        double rate = (before->motion.speed_mps - run->motion.speed_mps) / SL_MOTION_STEP_S;
        arrival->firmest_mps2 = fmax(arrival->firmest_mps2, rate);
    }
    if (before->feet.slowing && !run->feet.slowing) {
        arrival->slow_to_s = now_s;
    }
    if (run->feet.changing_s > 0.0 && before->feet.changing_s <= 0.0) {
        arrival->gear_from_s = before->motion.time_s;
        arrival->gear_from_mps = before->motion.speed_mps;
    }
    if (run->feet.changing_s <= 0.0 && before->feet.changing_s > 0.0) {
        arrival->gear_to_s = now_s;
    }
}

static bool labours(const struct run *run)
{
    const struct sl_motion *motion = &run->motion;
    const struct sl_feet *feet = &run->feet;
    bool pulls = feet->asks || motion->engine_radps < feet->mover.idle_radps;
    return motion->grips && motion->running && pulls && motion->speed_mps > 0.0 &&
           motion->engine_radps < feet->judder_radps;
}

static void watch_engine(const struct run *run, struct sl_arrival *arrival)
{
    const struct sl_motion *motion = &run->motion;
    const struct sl_feet *feet = &run->feet;
    if (labours(run)) {
        double rpm = sl_motion_rpm(motion);
        if (arrival->judder_s <= 0.0 || rpm < arrival->judder_rpm) {
            arrival->judder_rpm = rpm;
            arrival->judder_gear = feet->gear;
        }
        arrival->judder_s += SL_MOTION_STEP_S;
    }
    if (motion->jolt_mps2 < arrival->jolt_mps2) {
        arrival->jolt_mps2 = motion->jolt_mps2;
        arrival->jolt_s = motion->time_s;
    }
    if (sl_feet_hold_down(feet) && feet->changing_s <= 0.0 && motion->speed_mps > WALK_MPS) {
        arrival->coasting_s += SL_MOTION_STEP_S;
    }
    if (!motion->running && isnan(arrival->stalled_s)) {
        arrival->stalled_s = motion->time_s;
        arrival->stalled_m = distance_m(run);
        arrival->stalled_gear = feet->gear;
    }
}

static void note_arrival(const struct run *run, double line_s, struct sl_arrival *arrival)
{
    arrival->line_s = line_s;
    arrival->speed_mps = run->motion.speed_mps;
    arrival->engine_rpm = sl_motion_rpm(&run->motion);
    arrival->gear = run->feet.gear;
    arrival->clutch_down = run->feet.clutch_down;
    if (run->slowed && run->changed) {
        arrival->rolling_s = fmax(line_s - run->busy_until_s, 0.0);
    }
}

static void watch_line(struct run *run, const struct run *before, struct sl_arrival *arrival)
{
    bool slowing = run->feet.slowing || run->feet.lifted;
    run->slowed = run->slowed || run->feet.slowing;
    run->changed = run->changed || run->feet.changing_s > 0.0;
    bool at_work = slowing || run->feet.changing_s > 0.0;
    if (at_work && distance_m(run) > 0.0) {
        run->busy_until_s = run->motion.time_s;
    }
    double was_m = distance_m(before);
    double is_m = distance_m(run);
    if (!arrival->reached && is_m <= 0.0) {
        double share = was_m > is_m ? was_m / (was_m - is_m) : 0.0;
        arrival->reached = true;
        note_arrival(run, before->motion.time_s + share * SL_MOTION_STEP_S, arrival);
    }
    if (run->motion.speed_mps <= 0.0) {
        arrival->stands_m = is_m;
        if (isnan(arrival->line_s)) {
            note_arrival(run, run->motion.time_s, arrival);
        }
    } else if (before->motion.speed_mps <= 0.0) {
        arrival->stands_m = NAN;
        arrival->line_s = arrival->reached ? arrival->line_s : NAN;
    }
}

static enum sl_status add_sample(const struct run *run, const struct sl_controls *controls,
                                 struct sl_drive *drive, struct sl_error *error)
{
    struct sl_drive_sample *samples =
        sl_grow(drive->samples, drive->n_samples, &drive->samples_room, sizeof *drive->samples);
    if (samples == NULL) {
        return sl_fail_memory(error);
    }
    drive->samples = samples;
    samples[drive->n_samples++] =
        (struct sl_drive_sample){.time_s = run->motion.time_s,
                                 .distance_m = distance_m(run),
                                 .speed_mps = run->motion.speed_mps,
                                 .engine_rpm = sl_motion_rpm(&run->motion),
                                 .gear = controls->gear,
                                 .clutch_up = run->motion.grips,
                                 .braking = controls->brake_n > 0.0,
                                 .pulls = run->feet.asks,
                                 .judders = labours(run)};
    return SL_OK;
}

/* Past the line with the decision made or the time for it over; at rest with nothing more to come;
 * or it takes too long. */
static bool is_over(const struct run *run)
{
    const struct sl_task *task = run->driving->task;
    double now_s = run->motion.time_s;
    double past_m = -distance_m(run);
    bool more = now_s < run->heard_until_s;
    double longest_s = fmax(task->plan->line_s, run->heard_until_s) + SL_DRIVE_LONGEST_S;
    if (past_m > BEHIND_LINE_M || now_s > longest_s) {
        return true;
    }
    if (run->motion.speed_mps <= 0.0) {
        return !more;
    }
    bool late = now_s > task->plan->line_s + task->routine->timing.at_line_s;
    return past_m > AWAY_M && !run->feet.stopping && (run->decided || (late && !more));
}

static double heard_until_s(const struct sl_driving *driving)
{
    double until_s = 0.0;
    for (size_t i = 0; i < driving->heard->count; i++) {
        const struct sl_heard *heard = &driving->heard->items[i];
        if (sl_drive_hears(driving->task, heard)) {
            until_s = fmax(until_s, heard->start_s - driving->task->options.from_s);
        }
    }
    return until_s + 2.0 * SL_MOTION_STEP_S;
}

static struct sl_arrival nothing_yet(void)
{
    return (struct sl_arrival){.line_s = NAN,
                               .stands_m = NAN,
                               .slow_from_s = NAN,
                               .slow_to_s = NAN,
                               .gear_from_s = NAN,
                               .gear_to_s = NAN,
                               .gear_from_mps = NAN,
                               .rolling_s = NAN,
                               .jolt_s = NAN,
                               .stalled_s = NAN,
                               .stalled_m = NAN};
}

static enum sl_status drive_on(struct run *run, struct sl_drive *drive, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t step = 0; status == SL_OK && !is_over(run); step++) {
        struct run before = *run;
        hear(run);
        struct sl_controls controls = sl_feet_move(&run->feet, &run->motion, SL_MOTION_STEP_S);
        if (step % STEPS_PER_SAMPLE == 0) {
            status = add_sample(run, &controls, drive, error);
        }
        sl_motion_step(&run->feet.mover, &controls, SL_MOTION_STEP_S, &run->motion);
        run->motion.time_s = (double)(step + 1) * SL_MOTION_STEP_S;
        watch_slowing(run, &before, &controls, &drive->arrival);
        watch_engine(run, &drive->arrival);
        watch_line(run, &before, &drive->arrival);
    }
    if (isnan(drive->arrival.line_s)) { /* crept for longer than anybody waits */
        note_arrival(run, run->motion.time_s, &drive->arrival);
        drive->arrival.stands_m = distance_m(run);
    }
    struct sl_controls controls = {.gear = run->feet.gear};
    return status == SL_OK ? add_sample(run, &controls, drive, error) : status;
}

enum sl_status sl_drive_make(const struct sl_driving *driving, struct sl_drive *drive,
                             struct sl_error *error)
{
    const struct sl_task *task = driving->task;
    struct run run = {.driving = driving, .heard_until_s = heard_until_s(driving)};
    sl_drive_clear(drive);
    drive->arrival = nothing_yet();
    sl_feet_make(driving->car, task->plan, &task->routine->timing, task->junction->gradient,
                 &run.feet);
    sl_motion_start(&run.feet.mover, task->plan->approach_mps, run.feet.gear, &run.motion);
    enum sl_status status = drive_on(&run, drive, error);
    if (status == SL_OK) {
        status = sl_drive_judge(driving, drive, error);
    }
    if (status != SL_OK) {
        sl_drive_clear(drive);
    }
    return status;
}

void sl_drive_clear(struct sl_drive *drive)
{
    for (size_t i = 0; i < drive->n_consequences; i++) {
        free(drive->consequences[i].what);
        free(drive->consequences[i].reason);
    }
    free(drive->consequences);
    free(drive->samples);
    *drive = (struct sl_drive){0};
}

bool sl_arrival_alike(const struct sl_arrival *one, const struct sl_arrival *other)
{
    return one->reached == other->reached && one->gear == other->gear &&
           one->clutch_down == other->clutch_down &&
           isnan(one->stands_m) == isnan(other->stands_m) &&
           isnan(one->stalled_s) == isnan(other->stalled_s) &&
           fabs(one->line_s - other->line_s) <= ALIKE_S &&
           fabs(one->speed_mps - other->speed_mps) <= ALIKE_MPS;
}

struct sl_drive_sample sl_drive_at(const struct sl_drive *drive, double at_s)
{
    const struct sl_drive_sample *samples = drive->samples;
    double place = fmax(at_s / SL_DRIVE_SAMPLE_S, 0.0);
    size_t index = place < (double)drive->n_samples ? (size_t)place : drive->n_samples - 1;
    struct sl_drive_sample at = samples[index];
    if (index + 1 < drive->n_samples) {
        const struct sl_drive_sample *next = &samples[index + 1];
        double apart_s = next->time_s - at.time_s; /* less than the others' before the last */
        double share = apart_s > 0.0 ? fmin(fmax(at_s - at.time_s, 0.0) / apart_s, 1.0) : 1.0;
        at.time_s += share * (next->time_s - at.time_s);
        at.distance_m += share * (next->distance_m - at.distance_m);
        at.speed_mps += share * (next->speed_mps - at.speed_mps);
        at.engine_rpm += share * (next->engine_rpm - at.engine_rpm);
    }
    return at;
}

double sl_drive_time_s(const struct sl_drive *drive, double distance_m)
{
    const struct sl_drive_sample *samples = drive->samples;
    size_t i = 0;
    while (i < drive->n_samples && samples[i].distance_m > distance_m) {
        i++;
    }
    if (i == 0 || i == drive->n_samples) {
        return i == 0 ? samples[0].time_s : NAN;
    }
    double step_m = samples[i - 1].distance_m - samples[i].distance_m;
    double share = (samples[i - 1].distance_m - distance_m) / step_m;
    return samples[i - 1].time_s + share * (samples[i].time_s - samples[i - 1].time_s);
}
