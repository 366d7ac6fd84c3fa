/*
 * Features of a stretch of sound; for the decoder's files only.
 */
#ifndef SL_SPEECH_FEATURES_H
#define SL_SPEECH_FEATURES_H

#include "core/noise_shift.h"
#include "core/status.h"

#include <sphinxbase/fe.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Initialise with {0}; release with sl_features_clear. */
struct sl_features {
    mfcc_t **rows;  /* in one block that rows[0] points to */
    size_t *origin; /* the frame of the sound that each row is */
    size_t count;
    size_t width; /* values a row */
    size_t room;
};

/* The features of every frame. Replaces what was there. */
enum sl_status sl_features_compute(struct sl_features *features, fe_t *fe, const int16_t *samples,
                                   size_t n_samples, struct sl_error *error);

/* Mean and variance of the frames with noise[i] into sound->noise and noise_variance; there must
 * be some, and rows of SL_VOICE_CEPSTRA. */
void sl_features_noise(const struct sl_features *features, const bool *noise,
                       struct sl_noisy_sound *sound);

/* Drops the rows that are no speech, unless hardly any is, and takes the mean off the others; its
 * first values go to `mean`. NULL: all is speech. */
void sl_features_keep(struct sl_features *features, const bool *speech,
                      double mean[SL_VOICE_CEPSTRA]);

/* NULL is fine. */
void sl_features_clear(struct sl_features *features);

#endif
