/*
 * The acoustic model fitted to the noise of a recording: its Gaussians are read from the model's
 * folder, moved (core/noise_shift.h) and handed to the decoder through files that live in memory.
 */
#ifndef SL_SPEECH_NOISE_MODEL_H
#define SL_SPEECH_NOISE_MODEL_H

#include "core/mllr.h"
#include "core/noise_shift.h"
#include "core/status.h"

#include <pocketsphinx.h>
#include <sphinxbase/fe.h>

struct sl_noise_model;

/* Reads the Gaussians of the model that `ps` uses and fits them to the voice (the identity: as they
 * are); that they were fitted in `ps` does not matter. SL_UNSUPPORTED when its features or its
 * files are of another form than those of Debian's en-us. The decoder must outlive what is made. */
enum sl_status sl_noise_model_new(ps_decoder_t *ps, const struct sl_mllr *voice,
                                  struct sl_noise_model **model, struct sl_error *error);

/* NULL is fine. */
void sl_noise_model_free(struct sl_noise_model *model);

/* Features as the fitted Gaussians want them: without the library's own way of taking noise off,
 * which would not leave the sum of speech and noise that they are fitted to. Not to be freed. */
fe_t *sl_noise_model_front_end(const struct sl_noise_model *model);

/* From now on the decoder uses the Gaussians as they are in this sound. */
enum sl_status sl_noise_model_fit(struct sl_noise_model *model, const struct sl_noisy_sound *sound,
                                  struct sl_error *error);

/* From now on it uses them as the voice has them; nothing to do when it does already. */
enum sl_status sl_noise_model_rest(struct sl_noise_model *model, struct sl_error *error);

#endif
