/*
 * The Gaussians of an acoustic model, read from its files: what sounds are compared with, and
 * what is moved when the model is fitted to noise or to who speaks. Only models with one codebook
 * for each phone and SL_GAUSSIAN_STREAMS streams of SL_VOICE_CEPSTRA features can be fitted, as
 * Debian's en-us is.
 */
#ifndef SL_SPEECH_ACOUSTIC_MODEL_H
#define SL_SPEECH_ACOUSTIC_MODEL_H

#include "core/noise_shift.h"
#include "core/status.h"
#include "speech/model_definition.h"

#include <stddef.h>

/* Initialise with {0}; release with sl_acoustic_model_clear. */
struct sl_acoustic_model {
    struct sl_model_definition definition; /* a codebook for each phone */
    struct sl_gaussians gaussians;         /* variances not below SL_VARIANCE_LEAST */
};

/* The library's own floor (its option -varfloor). */
#define SL_VARIANCE_LEAST 1e-4F

/* Reads `folder`; NULL: Debian's en-us. SL_NOT_FOUND, SL_FORMAT for a broken file, SL_UNSUPPORTED
 * for a model of another make. */
enum sl_status sl_acoustic_model_load(const char *folder, struct sl_acoustic_model *model,
                                      struct sl_error *error);

/* The codebook of a phone; gaussians.n_codebooks when there is none. */
size_t sl_acoustic_model_codebook(const struct sl_acoustic_model *model, const char *phone);

/* Where the Gaussians of a stream of a codebook begin, in `means` and `variances`. */
size_t sl_gaussians_at(const struct sl_gaussians *gaussians, size_t codebook, size_t stream);

/* NULL is fine. */
void sl_acoustic_model_clear(struct sl_acoustic_model *model);

#endif
