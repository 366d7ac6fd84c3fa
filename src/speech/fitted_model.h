/*
 * The acoustic model fitted to the sound at hand, to its noise and to who speaks: its Gaussians are
 * read from the model's folder and moved (core/noise_shift.h, core/mllr.h), and frames are scored
 * with them (core/senones.h) in place of the library, which would have to read all of them anew
 * each time and scores several times slower.
 */
#ifndef SL_SPEECH_FITTED_MODEL_H
#define SL_SPEECH_FITTED_MODEL_H

#include "core/mllr.h"
#include "core/noise_shift.h"
#include "core/senones.h"
#include "core/status.h"

#include <pocketsphinx.h>
#include <sphinxbase/fe.h>

struct sl_fitted_model;

/* Reads the Gaussians of the model in `folder` (NULL: Debian's en-us), which `ps` uses.
 * SL_UNSUPPORTED when its features or its files are of another form than those of Debian's en-us.
 */
enum sl_status sl_fitted_model_new(ps_decoder_t *ps, const char *folder,
                                   struct sl_fitted_model **model, struct sl_error *error);

/* NULL is fine. */
void sl_fitted_model_free(struct sl_fitted_model *model);

/* Features as Gaussians fitted to noise want them: without the library's own way of taking noise
 * off, which would not leave the sum of speech and noise that they are fitted to. Not to be freed.
 */
fe_t *sl_fitted_model_front_end(const struct sl_fitted_model *model);

/* From now on it has the Gaussians as they are in this sound. SL_NO_MEMORY. */
enum sl_status sl_fitted_model_to_noise(struct sl_fitted_model *model,
                                        const struct sl_noisy_sound *sound, struct sl_error *error);

/* From now on it has those that it has now, moved to where the speaker has them. */
void sl_fitted_model_to_speaker(struct sl_fitted_model *model, const struct sl_mllr *speaker);

/* From now on it has them as they were read; nothing to do when it does already. */
void sl_fitted_model_rest(struct sl_fitted_model *model);

/* As sl_senones_score. */
void sl_fitted_model_score(const struct sl_fitted_model *model,
                           const float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA],
                           int16_t *scores);

/* How many scores a frame has. */
size_t sl_fitted_model_senones(const struct sl_fitted_model *model);

/* The Gaussians in use; valid until others are. */
const struct sl_gaussians *sl_fitted_model_gaussians(const struct sl_fitted_model *model);

/* The codebook of a phone; their n_codebooks when there is none. */
size_t sl_fitted_model_codebook(const struct sl_fitted_model *model, const char *phone);

#endif
