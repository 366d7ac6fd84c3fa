#include "practice/cue_recorder.h"

#include "practice/cue_pack.h"

#include <math.h>
#include <stdbool.h>

#define FRAME ((size_t)SL_CLIP_RATE_HZ / 50) /* 20 ms */
#define PORTION (5 * FRAME)                  /* listened to at a time */

/* A frame is loud when it is within so much of the loudest, and above what a quiet room gives. */
#define LOUD_BELOW_MAX_DB 30.0
#define LOUD_LEAST_DB (-50.0)
/* Kept in front of and behind the loud frames: soft beginnings and ends of words. */
#define KEEP_FRAMES_BEFORE 3
#define KEEP_FRAMES_AFTER 6
/* Fewer loud frames are a click, not a word. */
#define LEAST_LOUD_FRAMES 5

static double frame_db(const int16_t *samples, size_t n)
{
    double energy = 1; /* of one step, so that silence has a logarithm */
    for (size_t i = 0; i < n; i++) {
        energy += (double)samples[i] * samples[i];
    }
    return 10 * log10(energy / (double)n) - 20 * log10(INT16_MAX);
}

/* Where the speech is, in frames of 20 ms. */
struct span {
    size_t first, end; /* of the loud frames; end 0: none */
    size_t loud;       /* how many are */
};

static struct span find_speech(const struct sl_clip *sound)
{
    struct span span = {0};
    size_t n_frames = sound->n / FRAME;
    double loudest_db = LOUD_LEAST_DB + LOUD_BELOW_MAX_DB;
    for (size_t i = 0; i < n_frames; i++) {
        loudest_db = fmax(loudest_db, frame_db(sound->samples + i * FRAME, FRAME));
    }
    for (size_t i = 0; i < n_frames; i++) {
        if (frame_db(sound->samples + i * FRAME, FRAME) > loudest_db - LOUD_BELOW_MAX_DB) {
            span.first = span.loud == 0 ? i : span.first;
            span.end = i + 1;
            span.loud++;
        }
    }
    return span;
}

static bool is_speech(const struct span *span)
{
    return span->loud >= LEAST_LOUD_FRAMES;
}

enum sl_status sl_take_finish(const struct sl_clip *sound, const char *text, struct sl_take *take,
                              struct sl_error *error)
{
    struct sl_take made = {.flaws = sl_cue_take_flaws(sound)};
    struct span span = find_speech(sound);
    enum sl_status status = SL_OK;
    if (is_speech(&span)) {
        size_t first = span.first > KEEP_FRAMES_BEFORE ? span.first - KEEP_FRAMES_BEFORE : 0;
        size_t end = (span.end + KEEP_FRAMES_AFTER) * FRAME;
        end = end < sound->n ? end : sound->n;
        status =
            sl_clip_copy(sound->samples + first * FRAME, end - first * FRAME, &made.clip, error);
        if (status == SL_OK) {
            sl_clip_trim(&made.clip);
            status = sl_clip_normalise(&made.clip, &made.loudness, error);
        }
        if (status == SL_OK) {
            made.flaws |= sl_cue_clip_flaws(&made.clip, text, &made.loudness);
        }
    } else {
        made.flaws = SL_CUE_SILENT;
    }
    if (status != SL_OK) {
        sl_take_clear(&made);
        return status;
    }
    sl_take_clear(take);
    *take = made;
    return SL_OK;
}

static void throw_away(struct sl_endpoint *endpoint)
{
    int16_t frames[FRAME];
    while (sl_endpoint_read(endpoint, frames, FRAME) > 0) {
    }
}

/* Whether the take is complete: speech, and quiet after it. */
static bool is_over(const struct sl_clip *sound)
{
    struct span span = find_speech(sound);
    size_t quiet = sound->n - span.end * FRAME;
    return is_speech(&span) && (double)quiet >= SL_TAKE_QUIET_S * SL_CLIP_RATE_HZ;
}

static enum sl_status fail_gone(struct sl_error *error)
{
    return sl_fail(error, SL_DEVICE, "microphone", "plug it in again, then go on where you were",
                   "the microphone gives no sound any more");
}

/* Adds what is heard of `text` being said as it came, silence around it and all. */
static enum sl_status listen(struct sl_endpoint *endpoint, const char *text, struct sl_clip *sound,
                             struct sl_error *error)
{
    double most_s = fmin(SL_TAKE_WAIT_S + sl_cue_longest_s(text), SL_CLIP_MAX_S - 1);
    enum sl_status status = SL_OK;
    throw_away(endpoint);
    while (status == SL_OK && sl_clip_length_s(sound) < most_s && !is_over(sound)) {
        int16_t frames[PORTION];
        if (sl_endpoint_wait(endpoint, PORTION, 1.0) < PORTION &&
            sl_endpoint_facts(endpoint).state != SL_ENDPOINT_RUNNING) {
            return fail_gone(error);
        }
        size_t n = sl_endpoint_read(endpoint, frames, PORTION);
        status = sl_clip_append(sound, frames, n, error);
    }
    return status;
}

enum sl_status sl_take_record(struct sl_endpoint *endpoint, const char *text, struct sl_take *take,
                              struct sl_error *error)
{
    struct sl_clip sound = {0};
    enum sl_status status = listen(endpoint, text, &sound, error);
    if (status == SL_OK) {
        status = sl_take_finish(&sound, text, take, error);
    }
    sl_clip_clear(&sound);
    return status;
}

void sl_take_clear(struct sl_take *take)
{
    sl_clip_clear(&take->clip);
    *take = (struct sl_take){0};
}
