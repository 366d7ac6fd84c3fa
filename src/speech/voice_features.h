/*
 * The features of a frame as the acoustic model has them.
 */
#ifndef SL_SPEECH_VOICE_FEATURES_H
#define SL_SPEECH_VOICE_FEATURES_H

#include "core/mllr.h"
#include "speech/decoder_parts.h"

/* Fills the three streams of row `row`: cepstra, and their differences of first and second order
 * over two and three frames, no further than the stretch of speech around it goes. */
void sl_voice_features(const struct sl_decoder_rows *rows, size_t row,
                       float features[SL_MLLR_STREAMS][SL_MLLR_SIZE]);

#endif
