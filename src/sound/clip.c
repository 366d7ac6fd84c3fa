#include "sound/clip.h"

#include "sound/sound_reader.h"
#include "sound/sound_writer.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define MOST ((size_t)(SL_CLIP_MAX_S * SL_CLIP_RATE_HZ))
#define BLOCK 4096

/* Trimming: what is quieter than this share of the peak (45 dB down) is silence at the ends. */
#define QUIET_SHARE 0.0056
#define KEEP_BEFORE (SL_CLIP_RATE_HZ * 5 / 1000)
#define KEEP_AFTER (SL_CLIP_RATE_HZ * 20 / 1000)

/* Below the highest true peak by this much, as rounding to 16 bits and the meter's interpolation
 * may add a little. */
#define PEAK_MARGIN_DB 0.1

double sl_clip_length_s(const struct sl_clip *clip)
{
    return (double)clip->n / SL_CLIP_RATE_HZ;
}

void sl_clip_clear(struct sl_clip *clip)
{
    free(clip->samples);
    *clip = (struct sl_clip){0};
}

enum sl_status sl_clip_append(struct sl_clip *clip, const int16_t *samples, size_t n,
                              struct sl_error *error)
{
    if (n > MOST - clip->n) {
        return sl_fail(error, SL_TOO_LARGE, NULL, "keep what is spoken short",
                       "a cue of more than %.0f s is too long", SL_CLIP_MAX_S);
    }
    if (n == 0) {
        return SL_OK;
    }
    int16_t *grown = realloc(clip->samples, (clip->n + n) * sizeof *grown);
    if (grown == NULL) {
        return sl_fail_memory(error);
    }
    clip->samples = grown;
    if (samples != NULL) {
        memcpy(grown + clip->n, samples, n * sizeof *grown);
    } else {
        memset(grown + clip->n, 0, n * sizeof *grown);
    }
    clip->n += n;
    return SL_OK;
}

enum sl_status sl_clip_copy(const int16_t *samples, size_t n, struct sl_clip *clip,
                            struct sl_error *error)
{
    struct sl_clip made = {0};
    enum sl_status status = sl_clip_append(&made, samples, n, error);
    if (status != SL_OK) {
        return status;
    }
    sl_clip_clear(clip);
    *clip = made;
    return SL_OK;
}

enum sl_status sl_clip_load(const char *path, struct sl_clip *clip, struct sl_error *error)
{
    struct sl_sound_reader *reader = NULL;
    enum sl_status status = sl_sound_open(path, SL_CLIP_RATE_HZ, &reader, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_clip made = {0};
    int16_t block[BLOCK];
    size_t n = 0;
    do {
        status = sl_sound_read(reader, block, BLOCK, &n, error);
        if (status == SL_OK) {
            status = sl_clip_append(&made, block, n, error);
        }
    } while (status == SL_OK && n > 0);
    sl_sound_close(reader);
    if (status != SL_OK) {
        sl_clip_clear(&made);
        return status;
    }
    sl_clip_clear(clip);
    *clip = made;
    return SL_OK;
}

enum sl_status sl_clip_save(const char *path, const struct sl_clip *clip, struct sl_error *error)
{
    struct sl_sound_writer *writer = NULL;
    enum sl_status status = sl_sound_create(path, SL_CLIP_RATE_HZ, &writer, error);
    if (status != SL_OK) {
        return status;
    }
    status = sl_sound_write(writer, clip->samples, clip->n, error);
    if (status != SL_OK) {
        sl_sound_abandon(writer);
        return status;
    }
    return sl_sound_finish(writer, error);
}

static double peak_of(const struct sl_clip *clip)
{
    double peak = 0;
    for (size_t i = 0; i < clip->n; i++) {
        peak = fmax(peak, fabs((double)clip->samples[i]));
    }
    return peak;
}

/* Raised cosine, 0 to 1, over `length` samples. */
static double fade(size_t at, size_t length)
{
    return 0.5 - 0.5 * cos(3.14159265358979 * ((double)at + 0.5) / (double)length);
}

static int16_t scaled(int16_t sample, double gain)
{
    return (int16_t)lround(fmax(fmin(sample * gain, INT16_MAX), INT16_MIN));
}

/* Fades the first `before` and the last `after` samples. */
static void fade_ends(struct sl_clip *clip, size_t before, size_t after)
{
    for (size_t i = 0; i < before; i++) {
        clip->samples[i] = scaled(clip->samples[i], fade(i, before));
    }
    for (size_t i = 0; i < after; i++) {
        int16_t *sample = &clip->samples[clip->n - 1 - i];
        *sample = scaled(*sample, fade(i, after));
    }
}

void sl_clip_trim(struct sl_clip *clip)
{
    double quiet = peak_of(clip) * QUIET_SHARE;
    size_t first = 0;
    size_t end = clip->n;
    while (first < clip->n && fabs((double)clip->samples[first]) <= quiet) {
        first++;
    }
    if (first == clip->n) {
        return;
    }
    while (fabs((double)clip->samples[end - 1]) <= quiet) {
        end--;
    }
    size_t before = first < KEEP_BEFORE ? first : KEEP_BEFORE;
    size_t after = clip->n - end < KEEP_AFTER ? clip->n - end : KEEP_AFTER;
    clip->n = end + after - (first - before);
    memmove(clip->samples, clip->samples + (first - before), clip->n * sizeof *clip->samples);
    fade_ends(clip, before, after);
}

enum sl_status sl_clip_measure(const struct sl_clip *clip, struct sl_loudness *loudness,
                               struct sl_error *error)
{
    struct sl_frames frames = {
        .samples = clip->samples, .n_frames = clip->n, .channels = 1, .rate_hz = SL_CLIP_RATE_HZ};
    return sl_loudness_measure(&frames, loudness, error);
}

enum sl_status sl_clip_normalise(struct sl_clip *clip, struct sl_loudness *loudness,
                                 struct sl_error *error)
{
    struct sl_loudness before = {0};
    enum sl_status status = sl_clip_measure(clip, &before, error);
    if (status != SL_OK) {
        return status;
    }
    if (!isfinite(before.integrated_lufs)) {
        return sl_fail(error, SL_INVALID, NULL, "speak louder or closer to the microphone",
                       "there is no speech in it");
    }
    double gain_db = fmin(SL_LOUDNESS_TARGET_LUFS - before.integrated_lufs,
                          SL_TRUE_PEAK_MAX_DBTP - PEAK_MARGIN_DB - before.true_peak_dbtp);
    double gain = pow(10, gain_db / 20);
    for (size_t i = 0; i < clip->n; i++) {
        clip->samples[i] = scaled(clip->samples[i], gain);
    }
    return sl_clip_measure(clip, loudness, error);
}
