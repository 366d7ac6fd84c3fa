#include "sound/sound_reader.h"

#include "sound/sound_source.h"

#include "core/str.h"

#include <samplerate.h>
#include <sndfile.h>

#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define BLOCK_FRAMES 1024
#define OUT_SAMPLES 1024
#define LONGEST_S (24.0 * 3600)
#define MEND_FORMAT "give a WAV, FLAC, OGG or MP3 file; convert any other kind first"

struct sl_sound_reader {
    char *name; /* for errors */
    int file;
    SNDFILE *sound;
    SF_INFO info;
    SRC_STATE *resampler; /* NULL: the rate is right already */
    double ratio;
    struct sl_levels levels;
    float *frames; /* a block as it is in the file, channels side by side */
    float *mono;   /* the same block as one channel */
    size_t mono_at, mono_n;
    bool ended; /* nothing is left in the file */
};

static enum sl_status fail_format(const struct sl_sound_reader *reader, struct sl_error *error)
{
    switch (sf_error(NULL)) {
    case SF_ERR_SYSTEM:
        return sl_fail(error, SL_IO, reader->name, "try to copy the file to another place",
                       "the file cannot be read: %s", sf_strerror(NULL));
    case SF_ERR_UNRECOGNISED_FORMAT:
        return sl_fail(error, SL_FORMAT, reader->name, MEND_FORMAT, "this is not a sound file");
    default:
        return sl_fail(error, SL_FORMAT, reader->name, MEND_FORMAT,
                       "the sound file is damaged, or of a kind that cannot be read");
    }
}

/* What libsndfile lets pass, and we do not. */
static enum sl_status check_info(const struct sl_sound_reader *reader, int rate_hz,
                                 struct sl_error *error)
{
    const SF_INFO *info = &reader->info;
    double ratio = info->samplerate > 0 ? (double)rate_hz / info->samplerate : 0;
    if (info->channels < 1) {
        return sl_fail(error, SL_FORMAT, reader->name, MEND_FORMAT, "this is not a sound file");
    }
    if (ratio <= 0 || !src_is_valid_ratio(ratio)) {
        return sl_fail(error, SL_FORMAT, reader->name, "record again, or export the sound anew",
                       "a rate of %d samples a second cannot be right", info->samplerate);
    }
    if (info->frames == 0) {
        return sl_fail(error, SL_FORMAT, reader->name, "record again",
                       "there is no sound in the file");
    }
    if (sl_sound_duration_s(reader) > LONGEST_S) {
        return sl_fail(error, SL_TOO_LARGE, reader->name, "cut the recording into shorter ones",
                       "the recording is longer than 24 hours");
    }
    return SL_OK;
}

static enum sl_status open_resampler(struct sl_sound_reader *reader, int rate_hz,
                                     struct sl_error *error)
{
    reader->ratio = (double)rate_hz / reader->info.samplerate;
    if (reader->info.samplerate == rate_hz) {
        return SL_OK;
    }
    int failure = 0;
    reader->resampler = src_new(SRC_SINC_MEDIUM_QUALITY, 1, &failure);
    return reader->resampler != NULL
               ? SL_OK
               : sl_fail(error, SL_UNSUPPORTED, reader->name, NULL,
                         "the rate cannot be changed: %s", src_strerror(failure));
}

static enum sl_status open_sound(const char *path, int rate_hz, struct sl_sound_reader *reader,
                                 struct sl_error *error)
{
    reader->name = sl_strdup(strcmp(path, "-") == 0 ? "standard input" : path);
    if (reader->name == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_source_open(path, reader->name, &reader->file, error);
    if (status != SL_OK) {
        return status;
    }
    /* By its descriptor: given a name, libsndfile takes any bytes ending in .vox or .gsm for raw
     * sound. */
    reader->sound = sf_open_fd(reader->file, SFM_READ, &reader->info, 0);
    if (reader->sound == NULL) {
        return fail_format(reader, error);
    }
    status = check_info(reader, rate_hz, error);
    if (status != SL_OK) {
        return status;
    }
    sl_levels_init(&reader->levels, reader->info.samplerate);
    reader->frames = calloc((size_t)reader->info.channels * BLOCK_FRAMES, sizeof(float));
    reader->mono = calloc(BLOCK_FRAMES, sizeof(float));
    if (reader->frames == NULL || reader->mono == NULL) {
        return sl_fail_memory(error);
    }
    return open_resampler(reader, rate_hz, error);
}

enum sl_status sl_sound_open(const char *path, int rate_hz, struct sl_sound_reader **reader,
                             struct sl_error *error)
{
    struct sl_sound_reader *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->file = -1;
    enum sl_status status = open_sound(path, rate_hz, made, error);
    if (status != SL_OK) {
        sl_sound_close(made);
        return status;
    }
    *reader = made;
    return SL_OK;
}

double sl_sound_duration_s(const struct sl_sound_reader *reader)
{
    const SF_INFO *info = &reader->info;
    bool known = info->frames > 0 && info->frames != SF_COUNT_MAX;
    return known ? (double)info->frames / info->samplerate : 0;
}

/* From -1 to 1, a number; what was none is counted. */
static float tame(float sample, size_t *broken)
{
    *broken += isfinite(sample) ? 0 : 1;
    if (isnan(sample)) {
        return 0;
    }
    return fminf(fmaxf(sample, -1), 1);
}

/* The next block as one channel; sets `ended` where there is none. */
static enum sl_status fill_block(struct sl_sound_reader *reader, struct sl_error *error)
{
    sf_count_t frames = sf_readf_float(reader->sound, reader->frames, BLOCK_FRAMES);
    if (frames <= 0) {
        reader->ended = true;
        /* A file that is cut short or damaged further on ends there; a disk that fails does not. */
        return sf_error(reader->sound) != SF_ERR_SYSTEM
                   ? SL_OK
                   : sl_fail(error, SL_IO, reader->name, "try to copy the file to another place",
                             "the file cannot be read: %s", sf_strerror(reader->sound));
    }
    size_t channels = (size_t)reader->info.channels;
    for (size_t i = 0; i < (size_t)frames; i++) {
        float sum = 0;
        size_t broken = 0;
        for (size_t channel = 0; channel < channels; channel++) {
            sum += tame(reader->frames[i * channels + channel], &broken);
        }
        reader->levels.broken += broken > 0 ? 1 : 0;
        reader->mono[i] = sum / (float)channels;
    }
    reader->mono_at = 0;
    reader->mono_n = (size_t)frames;
    sl_levels_add(&reader->levels, reader->mono, reader->mono_n);
    return SL_OK;
}

/* From the block to at most `room` samples at the wanted rate. */
static enum sl_status resample(struct sl_sound_reader *reader, float *out, size_t room,
                               size_t *made, struct sl_error *error)
{
    const float *in = reader->mono + reader->mono_at;
    size_t left = reader->mono_n - reader->mono_at;
    if (reader->resampler == NULL) {
        size_t n = left < room ? left : room;
        memcpy(out, in, n * sizeof *out);
        reader->mono_at += n;
        *made = n;
        return SL_OK;
    }
    SRC_DATA data = {.data_in = in,
                     .data_out = out,
                     .input_frames = (long)left,
                     .output_frames = (long)room,
                     .end_of_input = reader->ended,
                     .src_ratio = reader->ratio};
    int failure = src_process(reader->resampler, &data);
    if (failure != 0) {
        return sl_fail(error, SL_IO, reader->name, NULL, "the rate cannot be changed: %s",
                       src_strerror(failure));
    }
    reader->mono_at += (size_t)data.input_frames_used;
    *made = (size_t)data.output_frames_gen;
    return SL_OK;
}

static int16_t to_short(float sample)
{
    /* The inverse of libsndfile's reading: 16-bit sound comes out as it went in. */
    return (int16_t)lrintf(fminf(fmaxf(sample * 32768.0F, -32768.0F), 32767.0F));
}

enum sl_status sl_sound_read(struct sl_sound_reader *reader, int16_t *samples, size_t room,
                             size_t *n_samples, struct sl_error *error)
{
    size_t n = 0;
    bool dry = false;
    while (n < room && !dry) {
        if (reader->mono_at == reader->mono_n && !reader->ended) {
            enum sl_status status = fill_block(reader, error);
            if (status != SL_OK) {
                return status;
            }
        }
        float out[OUT_SAMPLES];
        size_t most = room - n < OUT_SAMPLES ? room - n : OUT_SAMPLES;
        size_t made = 0;
        enum sl_status status = resample(reader, out, most, &made, error);
        if (status != SL_OK) {
            return status;
        }
        for (size_t i = 0; i < made; i++) {
            samples[n++] = to_short(out[i]);
        }
        dry = made == 0 && reader->ended;
    }
    *n_samples = n;
    return SL_OK;
}

struct sl_level_report sl_sound_levels(const struct sl_sound_reader *reader)
{
    return sl_levels_report(&reader->levels);
}

void sl_sound_close(struct sl_sound_reader *reader)
{
    if (reader == NULL) {
        return;
    }
    if (reader->sound != NULL) {
        sf_close(reader->sound);
    }
    if (reader->file >= 0) {
        close(reader->file);
    }
    if (reader->resampler != NULL) {
        src_delete(reader->resampler);
    }
    free(reader->frames);
    free(reader->mono);
    free(reader->name);
    free(reader);
}
