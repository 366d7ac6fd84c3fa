/*
 * Fits an acoustic model's means to a speaker, by frames each of which is known to be of some
 * phone.
 */
#ifndef SL_SPEECH_SPEAKER_FIT_H
#define SL_SPEECH_SPEAKER_FIT_H

#include "core/mllr.h"
#include "core/status.h"
#include "speech/acoustic_model.h"

#include <stddef.h>

/* A frame of 10 ms. */
struct sl_speaker_frame {
    size_t codebook; /* of the phone that was being said */
    float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA];
};

/* Initialise with {0}; free `items`. */
struct sl_speaker_frames {
    struct sl_speaker_frame *items;
    size_t count, room;
};

/*
 * Finds the transform under which the frames are likeliest. All Gaussians of a codebook count as
 * equally likely beforehand. SL_INVALID when what was said does not determine it; SL_NO_MEMORY.
 */
enum sl_status sl_speaker_fit(const struct sl_gaussians *gaussians,
                              const struct sl_speaker_frames *frames, struct sl_mllr *mllr,
                              struct sl_error *error);

#endif
