/*
 * The features of a frame of sound as the acoustic model has them.
 */
#ifndef SL_SPEECH_ROW_FEATURES_H
#define SL_SPEECH_ROW_FEATURES_H

#include "core/cepstra.h"
#include "speech/decoder_parts.h"

/* The features of a row: its cepstra, and their differences of first and second order over two and
 * three frames, no further than the stretch of speech around it goes. */
void sl_row_features(const struct sl_decoder_rows *rows, size_t row,
                     float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA]);

#endif
