#include "speech/features.h"

#include "speech/decoder.h"

#include <stdlib.h>
#include <string.h>

#define MIN_SPEECH_FRAMES 50 /* half a second */

/* Room for n rows. */
static bool make_room(struct sl_features *features, size_t n)
{
    if (n <= features->room) {
        return true;
    }
    mfcc_t **rows = malloc(n * sizeof(*rows));
    mfcc_t *block = malloc(n * features->width * sizeof(*block));
    size_t *origin = malloc(n * sizeof(*origin));
    if (rows == NULL || block == NULL || origin == NULL) {
        free(rows);
        free(block);
        free(origin);
        return false;
    }
    for (size_t i = 0; i < n; i++) {
        rows[i] = block + i * features->width;
    }
    size_t width = features->width;
    sl_features_clear(features);
    *features = (struct sl_features){.rows = rows, .origin = origin, .width = width, .room = n};
    return true;
}

enum sl_status sl_features_compute(struct sl_features *features, fe_t *fe, const int16_t *samples,
                                   size_t n_samples, struct sl_error *error)
{
    features->count = 0;
    features->width = (size_t)fe_get_output_size(fe);
    if (n_samples == 0) {
        return SL_OK;
    }
    size_t most = n_samples / SL_FRAME_SAMPLES + 1;
    if (!make_room(features, most)) {
        return sl_fail_memory(error);
    }
    fe_start_stream(fe); /* forgets the noise of the sound before */
    (void)fe_start_utt(fe);
    size_t left = n_samples;
    int32 n_frames = (int32)most;
    int32 n_last = 0;
    if (fe_process_frames(fe, &samples, &left, features->rows, &n_frames, NULL) < 0) {
        n_frames = 0;
    }
    features->count = (size_t)n_frames;
    if (features->count < most) { /* what is left fills one frame with zeros behind it */
        (void)fe_end_utt(fe, features->rows[features->count], &n_last);
        features->count += n_last > 0 ? 1 : 0;
    }
    return SL_OK;
}

void sl_features_noise(const struct sl_features *features, const bool *noise,
                       struct sl_noisy_sound *sound)
{
    double n = 0;
    double sum[SL_VOICE_CEPSTRA] = {0};
    double squares[SL_VOICE_CEPSTRA] = {0};
    for (size_t f = 0; f < features->count; f++) {
        for (size_t i = 0; noise[f] && i < SL_VOICE_CEPSTRA; i++) {
            double x = (double)features->rows[f][i];
            sum[i] += x;
            squares[i] += x * x;
        }
        n += noise[f];
    }
    for (size_t i = 0; n > 0 && i < SL_VOICE_CEPSTRA; i++) {
        sound->noise[i] = sum[i] / n;
        sound->noise_variance[i] = squares[i] / n - sound->noise[i] * sound->noise[i];
    }
}

/* Takes the mean off all rows. */
static void level(struct sl_features *features, double mean[SL_VOICE_CEPSTRA])
{
    for (size_t k = 0; k < features->width && features->count > 0; k++) {
        double sum = 0;
        for (size_t f = 0; f < features->count; f++) {
            sum += (double)features->rows[f][k];
        }
        mfcc_t off = (mfcc_t)(sum / (double)features->count);
        for (size_t f = 0; f < features->count; f++) {
            features->rows[f][k] -= off;
        }
        if (k < SL_VOICE_CEPSTRA) {
            mean[k] = (double)off;
        }
    }
}

void sl_features_keep(struct sl_features *features, const bool *speech,
                      double mean[SL_VOICE_CEPSTRA])
{
    size_t n_speech = 0;
    for (size_t f = 0; speech != NULL && f < features->count; f++) {
        n_speech += speech[f];
    }
    bool all = n_speech < MIN_SPEECH_FRAMES;
    size_t kept = 0;
    for (size_t f = 0; f < features->count; f++) {
        if (all || speech[f]) {
            memmove(features->rows[kept], features->rows[f], features->width * sizeof(mfcc_t));
            features->origin[kept++] = f;
        }
    }
    features->count = kept;
    level(features, mean);
}

void sl_features_clear(struct sl_features *features)
{
    if (features == NULL) {
        return;
    }
    if (features->rows != NULL) {
        free(features->rows[0]);
    }
    free(features->rows);
    free(features->origin);
    *features = (struct sl_features){0};
}
