/*
 * Frames of a sound with their features as the acoustic model has them.
 */
#ifndef SL_SPEECH_VOICE_FEATURES_H
#define SL_SPEECH_VOICE_FEATURES_H

#include "core/status.h"
#include "speech/decoder_parts.h"
#include "speech/voice_fit.h"

/* The features of a row: its cepstra, and their differences of first and second order over two and
 * three frames, no further than the stretch of speech around it goes. */
void sl_row_features(const struct sl_decoder_rows *rows, size_t row,
                     float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA]);

/* Adds row `row`, in which a phone of this codebook was said. SL_NO_MEMORY. */
enum sl_status sl_voice_frames_add(struct sl_voice_frames *frames,
                                   const struct sl_decoder_rows *rows, size_t row, size_t codebook,
                                   struct sl_error *error);

#endif
