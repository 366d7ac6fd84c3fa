#include "speech/speaker_fit.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* How often the frames are shared out anew among the Gaussians as they were moved before; after
 * three times hardly anything changes any more. */
#define ROUNDS 3

/* A fit on its way. By Gaussian, in the order of the model's. */
struct fit {
    const struct sl_gaussians *gaussians;
    size_t n_gaussians;
    float *moved;       /* the means as the speaker's */
    double *constants;  /* of the log densities, without 2 pi */
    double *frames;     /* that fell to a Gaussian */
    double *sums;       /* of their features */
    double *likelihood; /* of one frame under the Gaussians of one stream of a codebook */
};

static void release(struct fit *fit)
{
    free(fit->moved);
    free(fit->constants);
    free(fit->frames);
    free(fit->sums);
    free(fit->likelihood);
}

static bool prepare(struct fit *fit)
{
    const struct sl_gaussians *gaussians = fit->gaussians;
    size_t n = gaussians->n_codebooks * SL_GAUSSIAN_STREAMS * gaussians->n_densities;
    fit->n_gaussians = n;
    fit->moved = malloc(n * SL_VOICE_CEPSTRA * sizeof(*fit->moved));
    fit->constants = malloc(n * sizeof(*fit->constants));
    fit->frames = malloc(n * sizeof(*fit->frames));
    fit->sums = malloc(n * SL_VOICE_CEPSTRA * sizeof(*fit->sums));
    fit->likelihood = calloc(gaussians->n_densities, sizeof(*fit->likelihood));
    if (fit->moved == NULL || fit->constants == NULL || fit->frames == NULL || fit->sums == NULL ||
        fit->likelihood == NULL) {
        return false;
    }
    for (size_t g = 0; g < n; g++) {
        double sum = 0;
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            sum += log((double)gaussians->variances[g * SL_VOICE_CEPSTRA + i]);
        }
        fit->constants[g] = -sum / 2;
    }
    return true;
}

static size_t stream_of(const struct fit *fit, size_t gaussian)
{
    return gaussian / fit->gaussians->n_densities % SL_GAUSSIAN_STREAMS;
}

static void move(struct fit *fit, const struct sl_mllr *mllr)
{
    for (size_t g = 0; g < fit->n_gaussians; g++) {
        sl_mllr_move(&mllr->streams[stream_of(fit, g)],
                     fit->gaussians->means + g * SL_VOICE_CEPSTRA,
                     fit->moved + g * SL_VOICE_CEPSTRA);
    }
}

static double log_density(const struct fit *fit, size_t gaussian, const float *features)
{
    const float *mean = fit->moved + gaussian * SL_VOICE_CEPSTRA;
    const float *variance = fit->gaussians->variances + gaussian * SL_VOICE_CEPSTRA;
    float sum = 0;
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        float off = features[i] - mean[i];
        sum += off * off / variance[i];
    }
    return fit->constants[gaussian] - (double)sum / 2;
}

/* Shares one stream of a frame out among the Gaussians from `first` on. */
static void share_out(struct fit *fit, size_t first, const float *features)
{
    size_t n = fit->gaussians->n_densities;
    double most = -INFINITY;
    for (size_t k = 0; k < n; k++) {
        fit->likelihood[k] = log_density(fit, first + k, features);
        most = fmax(most, fit->likelihood[k]);
    }
    double total = 0;
    for (size_t k = 0; k < n; k++) {
        fit->likelihood[k] = exp(fit->likelihood[k] - most);
        total += fit->likelihood[k];
    }
    for (size_t k = 0; k < n; k++) {
        double share = fit->likelihood[k] / total;
        fit->frames[first + k] += share;
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            fit->sums[(first + k) * SL_VOICE_CEPSTRA + i] += share * (double)features[i];
        }
    }
}

static bool solve(const struct fit *fit, size_t stream, struct sl_mllr_matrix *matrix)
{
    struct sl_mllr_sums sums = {0};
    for (size_t g = 0; g < fit->n_gaussians; g++) {
        if (stream_of(fit, g) == stream) {
            struct sl_mllr_gaussian gaussian = {
                .mean = fit->gaussians->means + g * SL_VOICE_CEPSTRA,
                .variance = fit->gaussians->variances + g * SL_VOICE_CEPSTRA,
                .frames = fit->frames[g],
                .sum = fit->sums + g * SL_VOICE_CEPSTRA};
            sl_mllr_add(&sums, &gaussian);
        }
    }
    return sl_mllr_solve(&sums, matrix);
}

static bool go_round(struct fit *fit, const struct sl_speaker_frames *frames, struct sl_mllr *mllr)
{
    move(fit, mllr);
    memset(fit->frames, 0, fit->n_gaussians * sizeof(*fit->frames));
    memset(fit->sums, 0, fit->n_gaussians * SL_VOICE_CEPSTRA * sizeof(*fit->sums));
    for (size_t f = 0; f < frames->count; f++) {
        const struct sl_speaker_frame *frame = &frames->items[f];
        for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
            size_t first = sl_gaussians_at(fit->gaussians, frame->codebook, s) / SL_VOICE_CEPSTRA;
            share_out(fit, first, frame->features[s]);
        }
    }
    bool solved = true;
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS && solved; s++) {
        solved = solve(fit, s, &mllr->streams[s]);
    }
    return solved && sl_mllr_is_sound(mllr);
}

enum sl_status sl_speaker_fit(const struct sl_gaussians *gaussians,
                              const struct sl_speaker_frames *frames, struct sl_mllr *mllr,
                              struct sl_error *error)
{
    struct fit fit = {.gaussians = gaussians};
    if (!prepare(&fit)) {
        release(&fit);
        return sl_fail_memory(error);
    }
    struct sl_mllr made = sl_mllr_identity();
    bool solved = true;
    for (int round = 0; round < ROUNDS && solved; round++) {
        solved = go_round(&fit, frames, &made);
    }
    release(&fit);
    if (!solved) {
        return sl_fail(error, SL_INVALID, NULL, "say more",
                       "too little was said to get to know the speaker");
    }
    *mllr = made;
    return SL_OK;
}
