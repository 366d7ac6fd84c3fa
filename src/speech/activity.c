#include "speech/activity.h"

#include "speech/decoder.h"
#include "speech/dither.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FULL_SCALE 32768.0
#define FLOOR_DB (-120.0)
#define MOST_SNR_DB 100.0
#define MUTED_FRAMES ((size_t)50)
#define SPEECH_SHARE 0.4 /* of the way from noise to speech */

/* Of a phrase's onset, in frames. */
#define ONSET_LOUD ((size_t)3)   /* in a row make a voice */
#define ONSET_BEFORE ((size_t)3) /* of its rise that are not loud yet */
#define ONSET_LEAST ((size_t)20) /* later than the words */
#define ONSET_MOST ((size_t)60)

static double frame_db(const int16_t *samples, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        sum += (double)samples[i] * samples[i];
    }
    double power = n > 0 ? sum / ((double)n * FULL_SCALE * FULL_SCALE) : 0;
    return power > 0 ? fmax(10 * log10(power), FLOOR_DB) : FLOOR_DB;
}

static int by_value(const void *a, const void *b)
{
    float left = *(const float *)a;
    float right = *(const float *)b;
    return (left > right) - (left < right);
}

/* Nothing in it but the dither. */
static bool is_empty(const int16_t *samples, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (abs(samples[i]) > SL_DITHER_STEPS) {
            return false;
        }
    }
    return true;
}

/* Marks what is empty for MUTED_FRAMES or more, for find_levels and find_noise. */
static void find_muted(bool *muted, size_t n_frames, const int16_t *samples, size_t n_samples)
{
    size_t n_empty = 0; /* up to the frame before */
    for (size_t f = 0; f < n_frames; f++) {
        size_t from = f * SL_FRAME_SAMPLES;
        size_t n = n_samples - from < SL_FRAME_SAMPLES ? n_samples - from : SL_FRAME_SAMPLES;
        n_empty = is_empty(samples + from, n) ? n_empty + 1 : 0;
        for (size_t i = 0; n_empty == MUTED_FRAMES && i < MUTED_FRAMES; i++) {
            muted[f - i] = true;
        }
        muted[f] = n_empty >= MUTED_FRAMES;
    }
}

/* Noise and speech level, from a sorted copy of the frames. */
static enum sl_status find_levels(struct sl_activity *activity, const bool *muted,
                                  struct sl_error *error)
{
    float *sorted = malloc(activity->n_frames * sizeof(*sorted));
    if (sorted == NULL) {
        return sl_fail_memory(error);
    }
    size_t n = 0;
    for (size_t i = 0; i < activity->n_frames; i++) {
        if (!muted[i]) {
            sorted[n++] = activity->level_db[i];
        }
    }
    if (n == 0) {
        n = activity->n_frames;
        memcpy(sorted, activity->level_db, n * sizeof(*sorted));
    }
    qsort(sorted, n, sizeof(*sorted), by_value);
    activity->noise_db = (double)sorted[n / 10];
    activity->speech_db = (double)sorted[n * 95 / 100];
    free(sorted);
    double ratio = pow(10, (activity->speech_db - activity->noise_db) / 10) - 1;
    activity->snr_db = ratio > 1 ? fmin(10 * log10(ratio), MOST_SNR_DB) : 0;
    return SL_OK;
}

bool sl_activity_loud(const struct sl_activity *activity, size_t frame)
{
    return (double)activity->level_db[frame] >
           activity->noise_db + SPEECH_SHARE * (activity->speech_db - activity->noise_db);
}

size_t sl_activity_onset(const struct sl_activity *activity, size_t first, size_t end)
{
    size_t n_loud = 0;
    for (size_t f = first; f < end && f < activity->n_frames; f++) {
        n_loud = sl_activity_loud(activity, f) ? n_loud + 1 : 0;
        if (n_loud == ONSET_LOUD) {
            size_t loud = f + 1 - ONSET_LOUD;
            bool late = loud - first >= ONSET_LEAST && loud - first <= ONSET_MOST;
            return late ? loud - ONSET_BEFORE : first;
        }
    }
    return first;
}

static void find_speech(struct sl_activity *activity, double margin_s)
{
    size_t margin = margin_s > 0 ? (size_t)(margin_s / SL_FRAME_S) : 0;
    size_t marked = 0; /* frames before this one are done */
    for (size_t i = 0; i < activity->n_frames; i++) {
        if (!sl_activity_loud(activity, i)) {
            continue;
        }
        size_t from = i > margin ? i - margin : 0;
        size_t to = i + margin + 1 < activity->n_frames ? i + margin + 1 : activity->n_frames;
        for (size_t f = from > marked ? from : marked; f < to; f++) {
            activity->speech[f] = true;
        }
        marked = to;
    }
}

static void find_noise(struct sl_activity *activity, const bool *muted)
{
    size_t n = 0;
    for (size_t i = 0; i < activity->n_frames; i++) {
        activity->noise[i] = !activity->speech[i] && !muted[i];
        n += activity->noise[i];
    }
    for (size_t i = 0; n < SL_NOISE_LEAST_FRAMES && i < activity->n_frames; i++) {
        activity->noise[i] = !sl_activity_loud(activity, i) && !muted[i];
    }
}

enum sl_status sl_activity_measure(const int16_t *samples, size_t n_samples, double margin_s,
                                   struct sl_activity *activity, struct sl_error *error)
{
    size_t n = n_samples / SL_FRAME_SAMPLES + 1;
    struct sl_activity made = {.level_db = calloc(n, sizeof(*made.level_db)),
                               .speech = calloc(n, sizeof(*made.speech)),
                               .noise = calloc(n, sizeof(*made.noise)),
                               .n_frames = n};
    bool *muted = calloc(n, sizeof(*muted));
    enum sl_status status =
        made.level_db != NULL && made.speech != NULL && made.noise != NULL && muted != NULL
            ? SL_OK
            : sl_fail_memory(error);
    for (size_t i = 0; status == SL_OK && i < n; i++) {
        size_t from = i * SL_FRAME_SAMPLES;
        size_t left = n_samples - from;
        made.level_db[i] =
            (float)frame_db(samples + from, left < SL_FRAME_SAMPLES ? left : SL_FRAME_SAMPLES);
    }
    if (status == SL_OK) {
        find_muted(muted, n, samples, n_samples);
        status = find_levels(&made, muted, error);
    }
    if (status == SL_OK) {
        find_speech(&made, margin_s);
        find_noise(&made, muted);
        sl_activity_clear(activity);
        *activity = made;
    } else {
        sl_activity_clear(&made);
    }
    free(muted);
    return status;
}

void sl_activity_clear(struct sl_activity *activity)
{
    if (activity == NULL) {
        return;
    }
    free(activity->level_db);
    free(activity->speech);
    free(activity->noise);
    *activity = (struct sl_activity){0};
}
