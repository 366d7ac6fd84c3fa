/* The sound's thread of a rehearsal: speaker, microphone, echo, and what the clock brings. It waits
 * for nothing but the endpoint. */
#include "practice/rehearsal_parts.h"

#include <math.h>
#include <stdlib.h>

#define RATE ((double)SL_SOUND_RATE_HZ)
#define BLOCK_S (SL_ECHO_BLOCK / RATE)
#define CHUNK_FRAMES 800
#define LEVEL_BLOCKS 10
#define WAIT_S 0.1
#define FULL_SCALE 32768.0
#define LEVEL_LEAST_DB (-120.0)

static double now_s(const struct sl_rehearsal_run_state *run)
{
    return (double)run->captured / RATE - run->from_s;
}

void sl_rehearsal_post(struct sl_rehearsal_run_state *run, const struct sl_event *event)
{
    if (!sl_event_queue_put(run->events, event)) {
        atomic_store(&run->no_memory, true);
    }
}

void sl_rehearsal_post_now(struct sl_rehearsal_run_state *run, struct sl_event event)
{
    const struct sl_plan *plan = run->setup->plan;
    event.at_s = now_s(run);
    if (run->setup->driven != NULL) {
        struct sl_drive_sample car = sl_live_car_at(run->setup->driven->car, event.at_s);
        event.distance_m = car.distance_m;
        event.speed_mps = car.speed_mps;
        event.engine_rpm = car.engine_rpm;
        event.gear = car.gear;
    } else {
        event.distance_m = sl_plan_distance_m(plan, event.at_s);
        event.speed_mps = sl_plan_speed_mps(plan, event.at_s);
    }
    sl_rehearsal_post(run, &event);
}

static void post_kind(struct sl_rehearsal_run_state *run, enum sl_event_kind kind)
{
    sl_rehearsal_post_now(run, (struct sl_event){.kind = kind});
}

/* How much the speaker is to have now: all it takes, but of a driven car's sound, which begins with
 * the plan, only so much that it can soon be another. */
static size_t wanted_frames(struct sl_rehearsal_run_state *run)
{
    size_t room = sl_endpoint_writable(run->setup->endpoint);
    if (run->setup->driven == NULL) {
        return room;
    }
    struct sl_endpoint_facts facts = sl_endpoint_facts(run->setup->endpoint);
    if (facts.starved > run->starved && run->announced) {
        run->ahead_s = fmin(1.25 * run->ahead_s, SL_REHEARSAL_CAR_AHEAD_MOST_S);
    }
    run->starved = facts.starved;
    uint64_t until = facts.played + (uint64_t)(run->ahead_s * RATE);
    uint64_t zero = sl_cue_player_zero_frame(run->player);
    until = until > zero ? until : zero;
    uint64_t lacking = until > run->written ? until - run->written : 0;
    return room < lacking ? room : (size_t)lacking;
}

/* The next frames for the speaker. */
static void render(struct sl_rehearsal_run_state *run, int16_t *frames, size_t n)
{
    sl_cue_player_render(run->player, run->written, frames, n);
    if (run->setup->driven != NULL) {
        double zero = (double)sl_cue_player_zero_frame(run->player);
        double from_s = ((double)run->written - zero) / RATE;
        sl_live_car_mix(run->setup->driven->car, from_s, frames, n);
    }
}

void sl_rehearsal_feed_speaker(struct sl_rehearsal_run_state *run)
{
    int16_t frames[CHUNK_FRAMES];
    size_t room = wanted_frames(run);
    while (room > 0) {
        size_t n = room < CHUNK_FRAMES ? room : CHUNK_FRAMES;
        render(run, frames, n);
        size_t taken = sl_endpoint_write(run->setup->endpoint, frames, n);
        run->written += taken;
        room = taken < n ? 0 : room - n;
    }
}

/* Where time 0 lies in the recording, as far as is known. To the millisecond, as files say it: a
 * mark made from the file is then the mark made now. */
static void find_from(struct sl_rehearsal_run_state *run)
{
    double offset_s = run->facts.offset_known ? run->facts.offset_s : 0;
    if (run->echo != NULL && sl_echo_report(run->echo).aligned) {
        offset_s = sl_echo_report(run->echo).delay_s;
    }
    double zero_s = (double)sl_cue_player_zero_frame(run->player) / RATE;
    run->from_s = round((zero_s + offset_s) * 1000) / 1000;
}

static void add_level(struct sl_rehearsal_run_state *run, const int16_t *raw, const int16_t *block)
{
    for (size_t i = 0; i < SL_ECHO_BLOCK; i++) {
        run->level_sum += (double)block[i] * block[i];
        run->clipped = run->clipped || abs(raw[i]) >= INT16_MAX;
    }
    if (++run->level_blocks < LEVEL_BLOCKS) {
        return;
    }
    double mean = run->level_sum / (LEVEL_BLOCKS * SL_ECHO_BLOCK) / (FULL_SCALE * FULL_SCALE);
    double level_db = mean > 0 ? fmax(10 * log10(mean), LEVEL_LEAST_DB) : LEVEL_LEAST_DB;
    sl_rehearsal_post_now(
        run,
        (struct sl_event){.kind = SL_EVENT_LEVEL, .level_db = level_db, .clipped = run->clipped});
    run->level_sum = 0;
    run->level_blocks = 0;
    run->clipped = false;
}

/* Tells once when listening turns half-duplex, and once when it no longer is. */
static void watch_echo(struct sl_rehearsal_run_state *run)
{
    enum sl_echo_verdict verdict = sl_echo_report(run->echo).verdict;
    bool full = verdict == SL_ECHO_WORKING || verdict == SL_ECHO_NONE;
    if (verdict == SL_ECHO_FAILING && !run->half_duplex) {
        run->half_duplex = true;
        post_kind(run, SL_EVENT_HALF_DUPLEX);
    } else if (full && run->half_duplex) {
        run->half_duplex = false;
        post_kind(run, SL_EVENT_FULL_DUPLEX);
    }
}

/* What the clock brings at the plan's pace. */
static void follow_plan(struct sl_rehearsal_run_state *run, double at_s)
{
    const struct sl_plan *plan = run->setup->plan;
    for (size_t i = 0; i < plan->n_windows; i++) {
        if (!run->opened[i] && at_s >= fmax(plan->windows[i].opens_s, 0)) {
            run->opened[i] = true;
            sl_rehearsal_post_now(run, (struct sl_event){.kind = SL_EVENT_OPENS, .phase = i});
        }
        if (!run->closed[i] && at_s >= plan->windows[i].closes_s) {
            run->closed[i] = true;
            sl_rehearsal_post_now(run, (struct sl_event){.kind = SL_EVENT_CLOSES, .phase = i});
        }
    }
    if (!run->line_reached && at_s >= plan->line_s) {
        run->line_reached = true;
        post_kind(run, SL_EVENT_LINE);
    }
}

/* What the clock brings. */
static void pass_time(struct sl_rehearsal_run_state *run)
{
    if (!run->announced) {
        find_from(run);
    }
    double at_s = now_s(run);
    while (run->next_cue < run->n_timed && run->cues.items[run->next_cue].at_s <= at_s) {
        sl_rehearsal_post_now(
            run, (struct sl_event){.kind = SL_EVENT_CUE, .cue = &run->cues.items[run->next_cue]});
        run->next_cue++;
    }
    if (!run->announced && at_s >= 0) {
        run->announced = true;
        atomic_store(&run->from_ms, lround(run->from_s * 1000));
        post_kind(run, SL_EVENT_ANNOUNCED);
    }
    if (run->setup->driven != NULL) {
        sl_rehearsal_follow_car(run, at_s);
    } else {
        follow_plan(run, at_s);
    }
}

static void watch_ear(struct sl_rehearsal_run_state *run)
{
    double behind_s = (double)sl_frame_queue_held(run->to_hear) / RATE;
    if (behind_s >= SL_REHEARSAL_BEHIND_S && !run->told_behind) {
        run->told_behind = true;
        post_kind(run, SL_EVENT_BEHIND);
    }
}

/* A whole block was captured. */
static void work_on_block(struct sl_rehearsal_run_state *run)
{
    static const int16_t silence[SL_ECHO_BLOCK];
    int16_t block[SL_ECHO_BLOCK];
    const int16_t *out = run->mic;
    if (run->echo != NULL) {
        int16_t reference[SL_ECHO_BLOCK];
        /* A driven car's own sound is left out: it is too soft to matter (core/car_sound.h), and
         * the canceller hears the learner less well while something sounds all the time. */
        sl_cue_player_render(run->player, run->captured, reference, SL_ECHO_BLOCK);
        sl_echo_process(run->echo, run->mic, reference, block);
        out = block;
        watch_echo(run);
    }
    add_level(run, run->mic, out);
    if (run->echo != NULL && now_s(run) < -SL_REHEARSAL_EARLY_S) {
        out = silence; /* the announcement: its echo is still being learnt */
    }
    bool kept = sl_frame_queue_put(run->to_record, out, SL_ECHO_BLOCK);
    if (run->to_hear != NULL) {
        kept = sl_frame_queue_put(run->to_hear, out, SL_ECHO_BLOCK) && kept;
        watch_ear(run);
    }
    if (!kept) {
        atomic_store(&run->no_memory, true);
    }
    run->captured += SL_ECHO_BLOCK;
    pass_time(run);
}

static bool all_said(const struct sl_rehearsal_run_state *run)
{
    unsigned all = (1U << run->setup->routine->n_phases) - 1;
    return (atomic_load(&run->said) & all) == all;
}

/* Whether the run is at its end as planned. */
static bool complete(const struct sl_rehearsal_run_state *run)
{
    double at_s = now_s(run);
    if (run->setup->driven != NULL) {
        return run->announced && at_s >= sl_live_car_end_s(run->setup->driven->car);
    }
    return run->announced &&
           (at_s >= run->end_s ||
            (at_s >= run->setup->plan->line_s + SL_REHEARSAL_SAID_S && all_said(run)));
}

/* Takes what was captured; true when anything came. */
static bool take_frames(struct sl_rehearsal_run_state *run)
{
    bool came = false;
    while (!complete(run)) {
        size_t n = sl_endpoint_read(run->setup->endpoint, run->mic + run->n_mic,
                                    SL_ECHO_BLOCK - run->n_mic);
        came = came || n > 0;
        run->n_mic += n;
        if (run->n_mic < SL_ECHO_BLOCK) {
            break;
        }
        run->n_mic = 0;
        work_on_block(run);
    }
    return came;
}

/* Looks how the device does; false when it is gone. */
static bool watch_device(struct sl_rehearsal_run_state *run, bool came)
{
    struct sl_endpoint_facts before = run->facts;
    run->facts = sl_endpoint_facts(run->setup->endpoint);
    const struct sl_endpoint_facts *now = &run->facts;
    run->idle_s = came ? 0 : run->idle_s + WAIT_S;
    if (now->offset_known && run->echo != NULL &&
        (!before.offset_known || fabs(now->offset_s - before.offset_s) > 0.001)) {
        sl_echo_offset(run->echo, now->offset_s);
    }
    if (now->xruns > before.xruns) {
        post_kind(run, SL_EVENT_XRUN);
    }
    if (now->state == SL_ENDPOINT_STALLED && before.state != SL_ENDPOINT_STALLED) {
        post_kind(run, SL_EVENT_STALLED);
    }
    if (now->state == SL_ENDPOINT_RUNNING && before.state == SL_ENDPOINT_STALLED) {
        post_kind(run, SL_EVENT_RESUMED);
    }
    if (now->state == SL_ENDPOINT_ENDED && before.state != SL_ENDPOINT_ENDED) {
        post_kind(run, SL_EVENT_INPUT_ENDED);
    }
    bool gone = now->state == SL_ENDPOINT_GONE && !came;
    gone = gone || (run->echo != NULL && sl_echo_report(run->echo).copied);
    if (gone || run->idle_s >= SL_REHEARSAL_STALL_S) {
        post_kind(run, SL_EVENT_GONE);
        return false;
    }
    return true;
}

/* What has not filled a block is kept as well. */
static void keep_rest(struct sl_rehearsal_run_state *run)
{
    (void)sl_frame_queue_put(run->to_record, run->mic, run->n_mic);
}

static enum sl_rehearsal_end flow(struct sl_rehearsal_run_state *run)
{
    const struct sl_rehearsal *setup = run->setup;
    post_kind(run, SL_EVENT_STARTED);
    while (!complete(run)) {
        if (setup->stop != NULL && setup->stop(setup->user)) {
            return SL_REHEARSAL_STOPPED;
        }
        if (atomic_load(&run->no_memory)) {
            return SL_REHEARSAL_STOPPED; /* the run fails as a whole */
        }
        if (atomic_load(&run->disk_failed)) {
            post_kind(run, SL_EVENT_DISK);
            return SL_REHEARSAL_DISK;
        }
        if (setup->driven != NULL) {
            sl_live_car_look(setup->driven->car);
        }
        sl_rehearsal_feed_speaker(run);
        sl_endpoint_wait(setup->endpoint, SL_ECHO_BLOCK - run->n_mic, WAIT_S);
        if (!watch_device(run, take_frames(run))) {
            keep_rest(run);
            return SL_REHEARSAL_GONE;
        }
    }
    return SL_REHEARSAL_DONE;
}

void *sl_rehearsal_sound_thread(void *state)
{
    struct sl_rehearsal_run_state *run = state;
    run->end = flow(run);
    sl_frame_queue_finish(run->to_record);
    if (run->to_hear != NULL) {
        sl_frame_queue_finish(run->to_hear);
    }
    sl_event_queue_leave(run->events);
    return NULL;
}
