#include "practice/rehearsal_parts.h"

#include "core/str.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE ((double)SL_SOUND_RATE_HZ)

const char *sl_rehearsal_end_word(enum sl_rehearsal_end end)
{
    switch (end) {
    case SL_REHEARSAL_DONE:
        return "done";
    case SL_REHEARSAL_STOPPED:
        return "stopped";
    case SL_REHEARSAL_GONE:
        return "device-lost";
    case SL_REHEARSAL_DISK:
        return "disk-full";
    }
    return "unknown";
}

static double end_of(const struct sl_plan *plan)
{
    double end_s = plan->line_s + SL_REHEARSAL_TAIL_S;
    for (size_t i = 0; i < plan->n_windows; i++) {
        end_s = fmax(end_s, plan->windows[i].closes_s + SL_REHEARSAL_LAST_S);
    }
    return end_s;
}

/* Replaces a text of the run file. */
static bool set_text(char **text, const char *value)
{
    char *copy = sl_strdup(value);
    if (copy != NULL) {
        free(*text);
        *text = copy;
    }
    return copy != NULL;
}

static enum sl_status save_run(struct sl_rehearsal *setup, const char *ended,
                               struct sl_error *error)
{
    char *path = sl_run_file_path(setup->recording);
    enum sl_status status = SL_OK;
    if (path == NULL || !set_text(&setup->run.ended, ended) ||
        !set_text(&setup->run.prompting, sl_prompting_word(setup->prompting))) {
        status = sl_fail_memory(error);
    }
    if (status == SL_OK) {
        status = sl_run_file_save(path, &setup->run, error);
    }
    free(path);
    return status;
}

static enum sl_status make_cues(struct sl_rehearsal_run_state *run, struct sl_error *error)
{
    const struct sl_rehearsal *setup = run->setup;
    struct sl_cueing cueing = {.junction = setup->junction,
                               .routine = setup->routine,
                               .plan = setup->plan,
                               .length_s = sl_cue_voice_length_s,
                               .user = setup->voice};
    enum sl_status status =
        setup->driven == NULL
            ? sl_cues_make(&cueing, setup->prompting, &run->cues, error)
            : sl_cues_make_driven(&cueing, setup->driven->others, &run->cues, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_cue_player_setup player = {.cues = &run->cues,
                                         .voice = setup->voice,
                                         .plan = setup->plan,
                                         .lead_s = setup->lead_s,
                                         .road_tone = setup->road_tone};
    return sl_cue_player_new(&player, &run->player, error);
}

/* All that is needed before sound flows. */
static enum sl_status prepare(struct sl_rehearsal_run_state *run, struct sl_rehearsal *setup,
                              struct sl_error *error)
{
    enum sl_status status = make_cues(run, error);
    if (status != SL_OK) {
        return status;
    }
    run->end_s = end_of(setup->plan);
    while (run->n_timed < run->cues.count && isfinite(run->cues.items[run->n_timed].at_s)) {
        run->n_timed++;
    }
    run->next_call = run->n_timed;
    run->braked_s = -INFINITY;
    run->ahead_s = SL_REHEARSAL_CAR_AHEAD_S;
    atomic_init(&run->from_ms, -1);
    run->from_s = (double)sl_cue_player_zero_frame(run->player) / RATE;
    run->to_record = sl_frame_queue_new();
    run->to_hear = setup->ear == NULL ? NULL : sl_frame_queue_new();
    run->events = sl_event_queue_new(setup->ear == NULL ? 2 : 3);
    if (run->to_record == NULL || run->events == NULL ||
        (setup->ear != NULL && run->to_hear == NULL)) {
        return sl_fail_memory(error);
    }
    if (setup->echo) {
        status = sl_echo_new(0, &run->echo, error);
    }
    if (status == SL_OK) {
        status = sl_sound_stream_open(setup->recording, SL_SOUND_RATE_HZ, &run->stream, error);
    }
    run->made_recording = status == SL_OK;
    if (status == SL_OK) {
        status = save_run(setup, "running", error);
    }
    if (status == SL_OK && setup->prepared != NULL) {
        setup->prepared(setup->user, sl_cue_player_zero_frame(run->player));
    }
    return status;
}

/* Of a run in which no sound flowed nothing is left. */
static void take_back(const struct sl_rehearsal_run_state *run)
{
    char *path = sl_run_file_path(run->setup->recording);
    if (path != NULL) {
        (void)remove(path);
    }
    (void)remove(run->setup->recording);
    free(path);
}

static void release(struct sl_rehearsal_run_state *run)
{
    sl_sound_stream_close(run->stream, NULL);
    sl_echo_free(run->echo);
    sl_event_queue_free(run->events);
    sl_frame_queue_free(run->to_record);
    sl_frame_queue_free(run->to_hear);
    sl_cue_player_free(run->player);
    sl_cue_list_clear(&run->cues);
    sl_error_clear(&run->disk_error);
}

/* Hands out the events until all threads have left. */
static void hand_out(struct sl_rehearsal_run_state *run, struct sl_rehearsal *setup)
{
    struct sl_event event;
    /* Until the sound's thread has fixed it, the offset is left out. */
    double from_s = (double)sl_cue_player_zero_frame(run->player) / RATE;
    while (sl_event_queue_take(run->events, &event)) {
        struct sl_heard heard;
        if (event.kind == SL_EVENT_ANNOUNCED) {
            from_s = run->from_s;
            setup->run.from_s = from_s;
            setup->run.from_known = true;
            (void)save_run(setup, "running", NULL); /* it is saved again at the end */
        }
        if (event.kind == SL_EVENT_HEARD) { /* from the recording's clock to the plan's */
            heard = *event.heard;
            heard.start_s -= from_s;
            heard.end_s -= from_s;
            event.heard = &heard;
            event.at_s = heard.start_s;
            event.distance_m = sl_plan_distance_m(setup->plan, event.at_s);
            event.speed_mps = sl_plan_speed_mps(setup->plan, event.at_s);
        }
        if (setup->event != NULL) {
            setup->event(setup->user, &event);
        }
    }
}

/* The threads of a run, and how many of them could be started. */
struct threads {
    pthread_t ids[3];
    size_t n;
};

static bool start_thread(struct threads *threads, void *(*work)(void *),
                         struct sl_rehearsal_run_state *run)
{
    bool started = pthread_create(&threads->ids[threads->n], NULL, work, run) == 0;
    threads->n += started ? 1 : 0;
    return started;
}

static enum sl_status flow(struct sl_rehearsal_run_state *run, struct sl_rehearsal *setup,
                           struct sl_error *error)
{
    struct threads threads = {.n = 0};
    bool started = start_thread(&threads, sl_rehearsal_record_thread, run) &&
                   (setup->ear == NULL || start_thread(&threads, sl_rehearsal_hear_thread, run));
    enum sl_status status = SL_OK;
    if (!started) {
        status = sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "no thread could be started");
    }
    if (status == SL_OK) {
        sl_rehearsal_feed_speaker(run); /* so that the first frames are there in time */
        status = sl_endpoint_start(setup->endpoint, error);
    }
    if (status == SL_OK && !start_thread(&threads, sl_rehearsal_sound_thread, run)) {
        status = sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "no thread could be started");
    }
    if (status == SL_OK) {
        hand_out(run, setup);
    } else {
        sl_frame_queue_finish(run->to_record);
        if (run->to_hear != NULL) {
            sl_frame_queue_finish(run->to_hear);
        }
    }
    for (size_t i = 0; i < threads.n; i++) {
        pthread_join(threads.ids[i], NULL);
    }
    return status;
}

static void sum_up(const struct sl_rehearsal_run_state *run, struct sl_rehearsal_result *result)
{
    const struct sl_endpoint_facts *facts = &run->facts;
    bool disk = atomic_load(&run->disk_failed);
    *result = (struct sl_rehearsal_result){
        .end = disk ? SL_REHEARSAL_DISK : run->end,
        .line_reached = run->line_reached,
        .from_s = run->from_s,
        .from_known = run->announced,
        .length_s = (double)(run->captured + run->n_mic) / RATE,
        .starved_s = (double)facts->starved / RATE,
        .lost_s = (double)facts->lost / RATE,
        .xruns = facts->xruns,
        .half_duplex = run->half_duplex,
        .written = run->written,
    };
    if (run->echo != NULL) {
        result->echo = sl_echo_report(run->echo);
    }
}

enum sl_status sl_rehearsal_run(struct sl_rehearsal *setup, struct sl_rehearsal_result *result,
                                struct sl_error *error)
{
    struct sl_rehearsal_run_state *run = calloc(1, sizeof *run);
    if (run == NULL) {
        return sl_fail_memory(error);
    }
    run->setup = setup;
    enum sl_status status = prepare(run, setup, error);
    if (status == SL_OK) {
        status = flow(run, setup, error);
    }
    if (status == SL_OK && atomic_load(&run->no_memory)) {
        status = sl_fail_memory(error);
    }
    if (status == SL_OK) {
        struct sl_rehearsal_result made;
        sum_up(run, &made);
        setup->run.xruns = made.xruns;
        setup->run.lost_s = made.lost_s;
        setup->run.starved_s = made.starved_s;
        setup->run.half_duplex = made.half_duplex;
        if (save_run(setup, sl_rehearsal_end_word(made.end), NULL) != SL_OK) {
            made.end = SL_REHEARSAL_DISK;
        }
        *result = made;
    }
    bool silent = run->captured == 0 && run->n_mic == 0;
    release(run);
    if (status != SL_OK && run->made_recording && silent) {
        take_back(run);
    }
    free(run);
    return status;
}

enum sl_status sl_rehearsal_mark(const struct sl_rehearsal *setup,
                                 const struct sl_rehearsal_result *result,
                                 const struct sl_marker *marker, struct sl_attempt *attempt,
                                 struct sl_error *error)
{
    struct sl_task task = {.routine = setup->routine,
                           .junction =
                               setup->driven == NULL ? setup->junction : setup->driven->junction,
                           .plan = setup->plan,
                           .options = {.timed = true, .from_s = result->from_s}};
    return sl_mark_recording(&task, setup->recording, marker, attempt, error);
}
