/*
 * Hands a voice's transform to PocketSphinx; used by decoder.c and fitted_model.c.
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

/* The voice as the library has it; release with ps_mllr_free. NULL when there is no memory, or no
 * room for a temporary file. */
ps_mllr_t *sl_voice_transform(const struct sl_mllr *voice);

#endif
