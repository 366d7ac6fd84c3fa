/* One run of a session: sound opened, shown, recorded, marked. */
#include "cli/rehearse_parts.h"
#include "files/path.h"
#include "sound/endpoint_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define LEAD_S 1.0      /* before the announcement of the first run */
#define LEAD_NEXT_S 4.0 /* and of the following, for a breath and a look at the mark */
#define LEAD_MAX_S 60.0
#define NAMES_MAX 1000

static bool stop(void *user)
{
    struct sl_rehearse_run *run = user;
    return sl_interrupt_caught(&run->session->interrupt) != 0;
}

static void show(void *user, const struct sl_event *event)
{
    struct sl_rehearse_run *run = user;
    run->flowed = true;
    run->session->screen.event(run->session->screen.self, event);
}

/* Lets the recording that is the microphone begin so that its time 0 is the plan's. */
static void begin_file(void *user, uint64_t zero_frame)
{
    struct sl_rehearse_run *run = user;
    double begin = (double)zero_frame - round(run->file_from_s * SL_SOUND_RATE_HZ);
    if (run->session->options->mic != NULL && begin > 0) {
        sl_endpoint_file_begin_at(&run->endpoint, (uint64_t)begin);
    }
}

/* A name that is free: FOLDER/2026-03-14-1830-05-JUNCTION.flac. The caller frees. */
static char *recording_path(const struct sl_rehearse_run *run)
{
    const struct sl_rehearse *session = run->session;
    time_t now = time(NULL);
    struct tm when;
    char stamp[32] = "undated";
    if (localtime_r(&now, &when) != NULL) {
        (void)strftime(stamp, sizeof stamp, "%Y-%m-%d-%H%M-%S", &when);
    }
    const char *junction = session->setups[run->junction].junction.name;
    char *path = sl_strf("%s/%s-%s.flac", session->folder, stamp, junction);
    for (int i = 2; path != NULL && sl_path_exists(path) && i < NAMES_MAX; i++) {
        free(path);
        path = sl_strf("%s/%s-%s-%d.flac", session->folder, stamp, junction, i);
    }
    return path;
}

static enum sl_status describe(struct sl_rehearse_run *run, struct sl_error *error)
{
    const struct sl_rehearse_options *options = run->session->options;
    struct sl_run_file *file = &run->rehearsal.run;
    file->junction = sl_path_whole(options->junctions[run->junction]);
    file->routine = sl_path_whole(options->routine == NULL ? SL_DEFAULT_ROUTINE : options->routine);
    file->car = sl_path_whole(options->car == NULL ? SL_DEFAULT_CAR : options->car);
    file->version = sl_strdup(SL_VERSION);
    file->driven = options->drives;
    file->seed = sl_rehearse_seed(run->session, run->junction);
    bool whole = file->junction != NULL && file->routine != NULL && file->car != NULL &&
                 file->version != NULL;
    return whole ? SL_OK : sl_fail_memory(error);
}

static enum sl_status prepare(struct sl_rehearse_run *run, struct sl_error *error)
{
    struct sl_rehearse *session = run->session;
    const struct sl_rehearse_options *options = session->options;
    const struct sl_setup *setup = &session->setups[run->junction];
    bool fades = options->prompting == SL_PROMPTING_COUNT;
    enum sl_status status = sl_rehearse_open_sound(run, error);
    if (status == SL_OK) {
        status = describe(run, error);
    }
    double lead_s = run->number == 0 || options->mic != NULL ? LEAD_S : LEAD_NEXT_S;
    run->rehearsal = (struct sl_rehearsal){
        .junction = &setup->junction,
        .routine = &setup->routine,
        .plan = &setup->plan,
        .prompting = fades ? session->fading.level : options->prompting,
        .driven = options->drives ? &run->driven : NULL,
        .voice = session->voice,
        .endpoint = &run->endpoint,
        .recording = recording_path(run),
        .run = run->rehearsal.run,
        .lead_s = fmin(lead_s + run->file_from_s, LEAD_MAX_S),
        .road_tone = options->tone,
        .echo = options->mic == NULL,
        .ear = &session->ear,
        .event = show,
        .prepared = begin_file,
        .stop = stop,
        .user = run,
    };
    if (status == SL_OK && run->rehearsal.recording == NULL) {
        status = sl_fail_memory(error);
    }
    return status == SL_OK && options->drives ? sl_rehearse_take_car(run, error) : status;
}

static enum sl_status rehearse(struct sl_rehearse_run *run, struct sl_error *error)
{
    struct sl_rehearse *session = run->session;
    struct sl_screen_run shown = {.setup = &session->setups[run->junction],
                                  .recording = run->rehearsal.recording,
                                  .prompting = run->rehearsal.prompting,
                                  .number = run->number + 1,
                                  .of = session->n_runs,
                                  .live_ear = run->rehearsal.ear != NULL,
                                  .drives = run->rehearsal.driven != NULL};
    session->screen.begin(session->screen.self, &shown);
    enum sl_status status = sl_rehearsal_run(&run->rehearsal, &run->result, error);
    session->screen.end(session->screen.self);
    return status;
}

/* Marked is what got so far that a mark tells something: to its end, or past the line. */
static void mark(struct sl_rehearse_run *run, struct sl_error *error)
{
    bool stopped_late = run->result.end == SL_REHEARSAL_STOPPED && run->result.line_reached;
    if (run->result.end == SL_REHEARSAL_DONE || stopped_late) {
        struct sl_marker marker = {.recogniser = run->session->recogniser};
        run->marked = sl_rehearsal_mark(&run->rehearsal, &run->result, &marker, &run->attempt,
                                        error) == SL_OK;
    }
    if (run->marked && run->car != NULL) {
        run->marked = sl_rehearse_drive(run, error) == SL_OK;
    }
}

/* Saved before anything is said of the run, so that what was told of is there. */
static void keep(struct sl_rehearse_run *run)
{
    struct sl_rehearse *session = run->session;
    const struct sl_setup *setup = &session->setups[run->junction];
    const struct sl_run_file *file = &run->rehearsal.run;
    const struct sl_mark_options options = {.timed = run->attempt.mark.timed,
                                            .from_s = run->result.from_s};
    const struct sl_history_run kept = {.learner = session->options->learner,
                                        .rehearsed = true,
                                        .names = {.junction = file->junction,
                                                  .routine = file->routine,
                                                  .car = file->car,
                                                  .driven = file->driven,
                                                  .seed = file->seed},
                                        .prompting = file->driven ? NULL : file->prompting,
                                        .sound = run->rehearsal.recording,
                                        .recorded_with = SL_VERSION,
                                        .marked_with = SL_VERSION,
                                        .routine = &setup->routine,
                                        .junction = &setup->met,
                                        .plan = &setup->plan,
                                        .options = &options};
    struct sl_error error = {0};
    if (session->history != NULL &&
        sl_keep_attempt(session->history, &kept, &run->attempt, &error) != SL_OK) {
        sl_complain(&error);
        session->unkept = true;
    }
    sl_error_clear(&error);
}

static void release(struct sl_rehearse_run *run)
{
    sl_endpoint_close(&run->endpoint);
    sl_live_car_free(run->car);
    sl_drive_clear(&run->drive);
    sl_attempt_clear(&run->attempt);
    sl_run_file_clear(&run->rehearsal.run);
    free((char *)run->rehearsal.recording);
}

static enum sl_exit exit_of(const struct sl_rehearse_run *run, const struct sl_error *error)
{
    int caught = sl_interrupt_caught(&run->session->interrupt);
    if (caught != 0) {
        return (enum sl_exit)(SL_EXIT_SIGNAL + caught);
    }
    if (run->flowed && run->result.end == SL_REHEARSAL_GONE) {
        return SL_EXIT_DEVICE_LOST;
    }
    if (error->status == SL_OK) {
        return run->session->broken || run->session->unkept ? SL_EXIT_FAILED : SL_EXIT_DONE;
    }
    bool device = run->session->options->mic == NULL && !run->flowed;
    if (device && (error->status == SL_DEVICE || error->status == SL_UNSUPPORTED)) {
        return SL_EXIT_NO_DEVICE;
    }
    return run->flowed ? SL_EXIT_FAILED : sl_exit_for(error);
}

static void note_lost(const struct sl_rehearse_run *run, struct sl_error *error)
{
    if (run->result.end == SL_REHEARSAL_GONE && run->result.echo.copied) {
        sl_fail(error, SL_DEVICE, NULL,
                "plug it in again or choose one with --input, then begin a new run",
                "the microphone went away: what comes in is the speaker's own sound");
    } else if (run->result.end == SL_REHEARSAL_GONE) {
        sl_fail(error, SL_DEVICE, NULL, "plug it in again, then begin a new run",
                "the device went away in the middle of the run");
    }
    if (run->result.end == SL_REHEARSAL_DISK) {
        sl_fail(error, SL_IO, run->rehearsal.recording, "make room on the disk",
                "the recording could not be written further");
    }
}

enum sl_exit sl_rehearse_one(struct sl_rehearse *session, size_t number, size_t junction)
{
    struct sl_error error = {0};
    struct sl_rehearse_run run = {.session = session, .number = number, .junction = junction};
    enum sl_status status = prepare(&run, &error);
    if (status == SL_OK) {
        status = rehearse(&run, &error);
    }
    bool recorded = status == SL_OK;
    if (recorded) {
        mark(&run, &error);
    }
    if (run.marked) {
        session->fading = sl_fading_after(session->fading, &run.attempt.mark);
        keep(&run);
        session->broken = sl_rehearse_keep_mark(&run, &error) != SL_OK || session->broken;
        (session->options->drives ? sl_rehearse_tell_drive : sl_rehearse_feedback)(&run);
    } else if (recorded) {
        note_lost(&run, &error);
        sl_rehearse_kept(&run);
    }
    sl_endpoint_close(&run.endpoint); /* from here on what is said is heard */
    enum sl_exit code = exit_of(&run, &error);
    if (error.status != SL_OK) {
        sl_rehearse_failed(&run, &error);
        sl_complain(&error);
    }
    sl_error_clear(&error);
    release(&run);
    return code;
}
