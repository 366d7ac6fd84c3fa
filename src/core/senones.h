/*
 * How well a frame of sound fits each senone of an acoustic model, a senone being a state that
 * phones in like surroundings share (Hwang and Huang 1993, doi 10.1109/89.242486; from memory). All
 * senones of a phone are mixtures of the same Gaussians, those of the phone's codebook, with
 * weights of their own ("phonetically tied"); the streams of features count as independent, so that
 * a senone's likelihood is the product of its mixtures'. Of the Gaussians of a stream of a codebook
 * the likeliest few count, the others are next to nothing beside them; and none counts as less
 * likely than SL_SENONE_FLOOR_NATS below the best of its stream, so that a single stream, off for a
 * reason of its own, cannot rule out what the others say.
 */
#ifndef SL_CORE_SENONES_H
#define SL_CORE_SENONES_H

#include "core/noise_shift.h"
#include "core/status.h"

#include <stdint.h>

/* How far below the best of its stream of a codebook a Gaussian still counts. */
#define SL_SENONE_NEAR_NATS 3.0
#define SL_SENONE_FLOOR_NATS 9.83
#define SL_SENONE_BLOCK 8 /* Gaussians that are worked on side by side */

/* Which Gaussians senones are made of; nothing is owned. */
struct sl_senone_mixtures {
    size_t n_senones, n_codebooks;
    size_t n_densities;       /* in a stream of a codebook, a multiple of SL_SENONE_BLOCK */
    const uint16_t *codebook; /* of each senone, below n_codebooks */
    const uint8_t *weights;   /* by stream, density, senone: minus the logarithm, in units */
    double unit;              /* nats, above 0: of the weights here and of the scores below */
};

struct sl_senones;

/* Copies the mixtures; sl_senones_fit has to come before the first score. SL_NO_MEMORY. */
enum sl_status sl_senones_new(const struct sl_senone_mixtures *mixtures,
                              struct sl_senones **senones, struct sl_error *error);

/* NULL is fine. */
void sl_senones_free(struct sl_senones *senones);

/* How many there are. */
size_t sl_senones_count(const struct sl_senones *senones);

/* From now on these are the Gaussians, as many as the mixtures said, variances above 0. They are
 * copied. */
void sl_senones_fit(struct sl_senones *senones, const struct sl_gaussians *gaussians);

/* Fills `scores`, one for each senone: how much less likely than the best of the frame it is, in
 * units, 0 or more. The features must be finite. */
void sl_senones_score(struct sl_senones *senones,
                      const float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA], int16_t *scores);

#endif
