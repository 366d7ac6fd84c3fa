/*
 * Fitting the means of an acoustic model to one speaker: maximum likelihood linear regression with
 * one class for all (Leggetter and Woodland, "Maximum likelihood linear regression for speaker
 * adaptation of continuous density hidden Markov models", Computer Speech and Language 9, 1995).
 *
 * Every mean m of a stream of features becomes A m + b, with the A and b under which what the
 * speaker said is likeliest. Variances stay as they are, which is taken to be diagonal: then each
 * row of (A b) is found by itself, from a system of linear equations as large as a mean and one.
 */
#ifndef SL_CORE_MLLR_H
#define SL_CORE_MLLR_H

#include "core/cepstra.h"

#include <stdbool.h>
#include <stddef.h>

#define SL_MLLR_COLUMNS (SL_VOICE_CEPSTRA + 1)

/* Rows of (A b), b last. */
struct sl_mllr_matrix {
    double rows[SL_VOICE_CEPSTRA][SL_MLLR_COLUMNS];
};

struct sl_mllr {
    struct sl_mllr_matrix streams[SL_GAUSSIAN_STREAMS];
};

/* Changes nothing: A is the identity, b zero. */
struct sl_mllr sl_mllr_identity(void);

/* Whether every number is finite and none is beyond 1000, which no voice needs. */
bool sl_mllr_is_sound(const struct sl_mllr *mllr);

/* A m + b; `mean` and `moved` may be the same array. */
void sl_mllr_move(const struct sl_mllr_matrix *matrix, const float mean[SL_VOICE_CEPSTRA],
                  float moved[SL_VOICE_CEPSTRA]);

/* One Gaussian of the model, and the frames that fell to it. */
struct sl_mllr_gaussian {
    const float *mean;     /* as the model has it, SL_VOICE_CEPSTRA of them */
    const float *variance; /* above 0 */
    double frames;         /* how many, as a sum of probabilities; 0 or more */
    const double *sum;     /* of the frames' features, each times its probability */
};

/* What is known so far about one stream: for each row the equations G w = z. Initialise with {0}.
 */
struct sl_mllr_sums {
    double g[SL_VOICE_CEPSTRA][SL_MLLR_COLUMNS][SL_MLLR_COLUMNS];
    double z[SL_VOICE_CEPSTRA][SL_MLLR_COLUMNS];
};

void sl_mllr_add(struct sl_mllr_sums *sums, const struct sl_mllr_gaussian *gaussian);

/* Solves for the stream's matrix. False, with *matrix as it was, when what was said does not
 * determine it: too little, or all of one kind. */
bool sl_mllr_solve(const struct sl_mllr_sums *sums, struct sl_mllr_matrix *matrix);

#endif
