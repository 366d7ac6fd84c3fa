/*
 * Hands a voice's transform to PocketSphinx; used by decoder.c.
 */
#ifndef SL_SPEECH_VOICE_APPLY_H
#define SL_SPEECH_VOICE_APPLY_H

#include "core/mllr.h"
#include "core/status.h"

#include <pocketsphinx.h>

/* From now on `ps` searches with its model's means as `voice` moves them. SL_UNSUPPORTED when the
 * library does not take it, SL_IO. */
enum sl_status sl_voice_apply(ps_decoder_t *ps, const struct sl_mllr *voice,
                              struct sl_error *error);

#endif
