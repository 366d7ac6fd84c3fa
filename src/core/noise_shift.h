/*
 * What noise does to an acoustic model: its Gaussians were trained on clean speech, and noise lifts
 * whatever lies below it. In the logarithm of a filter bank's energies clean speech x and noise n
 * add up to y = x + log(1 + exp(n - x)); means are moved through this formula and variances through
 * its first derivative, a vector Taylor series of first order (Moreno, Raj and Stern 1996, doi
 * 10.1109/ICASSP.1996.543225; from memory).
 */
#ifndef SL_CORE_NOISE_SHIFT_H
#define SL_CORE_NOISE_SHIFT_H

#include "core/cepstra.h"
#include "core/status.h"

#include <stddef.h>

/* Gaussians with diagonal covariance; values by codebook, stream, density, cepstrum. */
struct sl_gaussians {
    size_t n_codebooks, n_densities;
    float *means, *variances;
};

/* How the front end makes cepstra: an orthonormal DCT-II of this many filters' log energies, then
 * cepstrum i times 1 + lifter / 2 * sin(pi i / lifter). */
struct sl_cepstrum_form {
    size_t n_filters; /* SL_VOICE_CEPSTRA to SL_FILTERS_MOST */
    double lifter;    /* above 0 */
};

#define SL_FILTERS_MOST 64

/* What is known of the sound. */
struct sl_noisy_sound {
    double noise[SL_VOICE_CEPSTRA];          /* mean of frames without speech */
    double noise_variance[SL_VOICE_CEPSTRA]; /* of the same frames */
    double mean[SL_VOICE_CEPSTRA];           /* of the frames that are searched, speech mostly */
};

/*
 * Fills `noisy`, of the size of `clean`, with the Gaussians as they are in this sound, for features
 * whose mean (sound->mean) was taken off. The mean of the voice without the noise is found such
 * that the lifted Gaussians have the mean of the sound, all alike but those of silence, the
 * codebook with the lowest energy. SL_NO_MEMORY.
 */
enum sl_status sl_noise_shift(const struct sl_gaussians *clean, const struct sl_cepstrum_form *form,
                              const struct sl_noisy_sound *sound, struct sl_gaussians *noisy,
                              struct sl_error *error);

#endif
