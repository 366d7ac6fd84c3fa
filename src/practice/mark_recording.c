#include "practice/mark_recording.h"

#include "core/settling.h"
#include "core/str.h"
#include "files/path.h"
#include "sound/sound_reader.h"

#include <stdlib.h>

#define CHUNK_SAMPLES 16000 /* a second: progress is told after each */

/* One recording on its way through the recogniser. */
struct listening {
    const char *path;
    struct sl_recogniser *recogniser;
    sl_progress *progress;
    void *user;
    int16_t *samples; /* CHUNK_SAMPLES of room */
};

static enum sl_status listen(const struct listening *job, struct sl_sound_reader *reader,
                             struct sl_heard_list *heard, struct sl_error *error)
{
    double length_s = sl_sound_duration_s(reader);
    double done_s = 0.0;
    for (;;) {
        size_t n = 0;
        enum sl_status status = sl_sound_read(reader, job->samples, CHUNK_SAMPLES, &n, error);
        if (status != SL_OK || n == 0) {
            return status;
        }
        status = sl_recogniser_feed(job->recogniser, job->samples, n, heard, error);
        if (status != SL_OK) {
            return status;
        }
        done_s += (double)n / SL_SPEECH_RATE_HZ;
        if (job->progress != NULL) {
            double share = done_s < length_s ? done_s / length_s : 1.0;
            job->progress(job->user, length_s > 0.0 ? share : -1.0);
        }
    }
}

static enum sl_status check_from(const char *path, double from_s, double length_s,
                                 struct sl_error *error)
{
    if (from_s > 0.0 && from_s >= length_s) {
        return sl_fail(error, SL_INVALID, path, "give a moment inside the recording",
                       "the junction is said to be announced at %.1f s, but the recording is "
                       "only %.1f s long",
                       from_s, length_s);
    }
    return SL_OK;
}

/* The sound into attempt->heard and attempt->levels. */
static enum sl_status hear(const struct listening *job, double from_s, struct sl_attempt *attempt,
                           struct sl_error *error)
{
    struct sl_sound_reader *reader = NULL;
    enum sl_status status = sl_sound_open(job->path, SL_SPEECH_RATE_HZ, &reader, error);
    if (status != SL_OK) {
        return status;
    }
    double stated_s = sl_sound_duration_s(reader);
    if (stated_s > 0.0) {
        status = check_from(job->path, from_s, stated_s, error);
    }
    if (status == SL_OK) {
        status = listen(job, reader, &attempt->heard, error);
        /* Also after a failure, so that the recogniser is ready for the next recording. */
        struct sl_error *finish_error = status == SL_OK ? error : NULL;
        enum sl_status finished =
            sl_recogniser_finish(job->recogniser, &attempt->heard, finish_error);
        status = status == SL_OK ? finished : status;
    }
    attempt->levels = sl_sound_levels(reader);
    sl_sound_close(reader);
    if (attempt->heard.count > 0 && (attempt->levels.notices & SL_NOTICE_SILENT) != 0) {
        /* As faint as silence, and yet understood. */
        attempt->levels.notices ^= SL_NOTICE_SILENT;
        attempt->levels.notices |= SL_NOTICE_QUIET;
    }
    if (status == SL_OK) {
        status = check_from(job->path, from_s, attempt->levels.duration_s, error);
    }
    return status;
}

/* The mark anew with what was settled beside the recording, if anything was. */
static enum sl_status apply_settled(const struct sl_task *task, const char *path,
                                    struct sl_attempt *attempt, struct sl_error *error)
{
    char *file = sl_settled_path(path);
    bool there = file != NULL && sl_path_exists(file);
    enum sl_status status = file == NULL ? sl_fail_memory(error) : SL_OK;
    free(file);
    if (status != SL_OK || !there) {
        return status;
    }
    status = sl_settled_load(path, task, &attempt->settled, error);
    if (status == SL_OK) {
        status =
            sl_settle(task, &attempt->heard, &attempt->settled.settlements, &attempt->mark, error);
    }
    return status;
}

enum sl_status sl_mark_recording(const struct sl_task *task, const char *path,
                                 const struct sl_marker *marker, struct sl_attempt *attempt,
                                 struct sl_error *error)
{
    struct sl_attempt made = {.file = sl_strdup(path)};
    struct listening job = {.path = path,
                            .recogniser = marker->recogniser,
                            .progress = marker->progress,
                            .user = marker->user,
                            .samples = malloc(CHUNK_SAMPLES * sizeof(int16_t))};
    enum sl_status status = SL_OK;
    if (made.file == NULL || job.samples == NULL) {
        status = sl_fail_memory(error);
    }
    if (status == SL_OK) {
        status = hear(&job, task->options.from_s, &made, error);
    }
    if (status == SL_OK) {
        struct sl_task noted = *task;
        made.hiding = sl_levels_hiding(&made.levels);
        noted.options.hiding = made.hiding;
        status = sl_mark_make(&noted, &made.heard, &made.mark, error);
        if (status == SL_OK && marker->settled) {
            status = apply_settled(&noted, path, &made, error);
        }
    }
    free(job.samples);
    if (status != SL_OK) {
        sl_attempt_clear(&made);
        return status;
    }
    *attempt = made;
    return SL_OK;
}

void sl_attempt_clear(struct sl_attempt *attempt)
{
    if (attempt == NULL) {
        return;
    }
    free(attempt->file);
    sl_heard_clear(&attempt->heard);
    sl_mark_clear(&attempt->mark);
    sl_settled_clear(&attempt->settled);
    *attempt = (struct sl_attempt){0};
}
