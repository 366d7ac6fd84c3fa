/*
 * Fits an acoustic model's means to the frames of what a speaker read, each of which is known to be
 * of some phone.
 */
#ifndef SL_SPEECH_VOICE_FIT_H
#define SL_SPEECH_VOICE_FIT_H

#include "core/mllr.h"
#include "core/status.h"
#include "speech/voice_model.h"

#include <stddef.h>

/* A frame of 10 ms. */
struct sl_voice_frame {
    size_t at;       /* which frame of the sound */
    size_t phrase;   /* what was being read */
    size_t codebook; /* of the phone that was being said */
    float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA];
};

/* Initialise with {0}; free `items`. */
struct sl_voice_frames {
    struct sl_voice_frame *items;
    size_t count, room;
};

/* Phrases are told apart by turns: phrase i is of fold i % SL_VOICE_FOLDS. */
#define SL_VOICE_FOLDS ((size_t)3)

/*
 * Finds the transform from all frames but those of fold `left_out` (SL_VOICE_FOLDS: from all). All
 * Gaussians of a codebook count as equally likely beforehand. SL_INVALID when what was read does
 * not determine it.
 */
enum sl_status sl_voice_fit(const struct sl_gaussians *gaussians,
                            const struct sl_voice_frames *frames, size_t left_out,
                            struct sl_mllr *mllr, struct sl_error *error);

#endif
