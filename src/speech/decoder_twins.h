/*
 * Holding a phrase and its twins against the same sound.
 */
#ifndef SL_SPEECH_DECODER_TWINS_H
#define SL_SPEECH_DECODER_TWINS_H

#include "speech/decoder.h"
#include "speech/twins.h"

/*
 * By how much the phrase's own words fit frames[0] to frames[1] - 1 of what is loaded better than
 * the best of its twins: acoustic log likelihood, nats; below 0 when a twin fits better, INFINITY
 * when there is no twin or none that could be said in that time. SL_UNSUPPORTED when the library
 * refuses.
 */
enum sl_status sl_decoder_twins(struct sl_decoder *decoder, const struct sl_twins *twins,
                                const size_t frames[2], double *margin, struct sl_error *error);

#endif
