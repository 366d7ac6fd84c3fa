#include "core/noise_shift.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#define N SL_VOICE_CEPSTRA
#define PI 3.14159265358979323846
#define VOICE_ROUNDS 20 /* in which the voice's mean is found */
#define VOICE_STRIDE 4  /* every fourth Gaussian is enough for it */

/* Between cepstra and the filters' log energies, and the noise in the latter. */
struct bank {
    size_t n_filters;
    double to_filters[SL_FILTERS_MOST][N];
    double to_cepstra[N][SL_FILTERS_MOST];
    double noise[SL_FILTERS_MOST];
};

static void make_bank(const struct sl_cepstrum_form *form, const double noise[N], struct bank *bank)
{
    assert(form->n_filters >= N && form->n_filters <= SL_FILTERS_MOST && form->lifter > 0);
    double n = (double)form->n_filters;
    bank->n_filters = form->n_filters;
    for (size_t i = 0; i < N; i++) {
        double lift = 1 + form->lifter / 2 * sin(PI * (double)i / form->lifter);
        double norm = sqrt((i == 0 ? 1 : 2) / n);
        for (size_t m = 0; m < form->n_filters; m++) {
            double wave = norm * cos(PI * (double)i * ((double)m + 0.5) / n);
            bank->to_cepstra[i][m] = lift * wave;
            bank->to_filters[m][i] = wave / lift;
        }
    }
    for (size_t m = 0; m < form->n_filters; m++) {
        bank->noise[m] = 0;
        for (size_t i = 0; i < N; i++) {
            bank->noise[m] += bank->to_filters[m][i] * noise[i];
        }
    }
}

/* Lifts clean cepstra by the noise; `share` is the speech's share of each filter's energy. */
static void lift(const struct bank *bank, double cepstra[N], double share[SL_FILTERS_MOST])
{
    double more[SL_FILTERS_MOST];
    for (size_t m = 0; m < bank->n_filters; m++) {
        double speech = 0;
        for (size_t i = 0; i < N; i++) {
            speech += bank->to_filters[m][i] * cepstra[i];
        }
        double ratio = exp(fmin(bank->noise[m] - speech, 100));
        share[m] = 1 / (1 + ratio);
        more[m] = log1p(ratio);
    }
    for (size_t i = 0; i < N; i++) {
        for (size_t m = 0; m < bank->n_filters; m++) {
            cepstra[i] += bank->to_cepstra[i][m] * more[m];
        }
    }
}

/* How noisy cepstra change with clean ones; the rest to one is how they change with the noise. */
static void derive(const struct bank *bank, const double share[SL_FILTERS_MOST],
                   double by_speech[N][N])
{
    for (size_t i = 0; i < N; i++) {
        for (size_t j = 0; j < N; j++) {
            by_speech[i][j] = 0;
            for (size_t m = 0; m < bank->n_filters; m++) {
                by_speech[i][j] += bank->to_cepstra[i][m] * share[m] * bank->to_filters[m][j];
            }
        }
    }
}

/* How a value follows speech and noise. */
struct change {
    const double (*by_speech)[N];
    const double *noise_variance;
    double noise_times; /* frames of noise in it */
};

static void move_variance(const struct change *change, const float *clean, float *noisy)
{
    for (size_t i = 0; i < N; i++) {
        double sum = 0;
        for (size_t j = 0; j < N; j++) {
            double by_speech = change->by_speech[i][j];
            double by_noise = (i == j ? 1 : 0) - by_speech;
            sum += by_speech * by_speech * (double)clean[j] +
                   by_noise * by_noise * change->noise_times * change->noise_variance[j];
        }
        noisy[i] = (float)sum;
    }
}

/* The first value of a Gaussian. */
static size_t place(const struct sl_gaussians *all, size_t codebook, size_t stream, size_t density)
{
    return ((codebook * SL_GAUSSIAN_STREAMS + stream) * all->n_densities + density) * N;
}

/* The codebook with the lowest mean energy: silence. */
static size_t quietest(const struct sl_gaussians *all)
{
    size_t best = 0;
    double least = INFINITY;
    for (size_t c = 0; c < all->n_codebooks; c++) {
        double sum = 0;
        for (size_t d = 0; d < all->n_densities; d++) {
            sum += (double)all->means[place(all, c, 0, d)];
        }
        if (sum < least) {
            least = sum;
            best = c;
        }
    }
    return best;
}

/* The mean of all Gaussians but those of silence, lifted. */
static void lifted_mean(const struct sl_gaussians *clean, size_t silence, const struct bank *bank,
                        const double voice[N], double mean[N])
{
    double n = 0;
    double sum[N] = {0};
    for (size_t c = 0; c < clean->n_codebooks; c++) {
        for (size_t d = 0; c != silence && d < clean->n_densities; d += VOICE_STRIDE) {
            const float *from = clean->means + place(clean, c, 0, d);
            double cepstra[N];
            double share[SL_FILTERS_MOST];
            for (size_t i = 0; i < N; i++) {
                cepstra[i] = (double)from[i] + voice[i];
            }
            lift(bank, cepstra, share);
            for (size_t i = 0; i < N; i++) {
                sum[i] += cepstra[i];
            }
            n++;
        }
    }
    for (size_t i = 0; i < N; i++) {
        mean[i] = sum[i] / n;
    }
}

/* The mean of the voice without the noise: such that the lifted Gaussians have the sound's mean. */
static void find_voice(const struct sl_gaussians *clean, const struct bank *bank,
                       const struct sl_noisy_sound *sound, double voice[N])
{
    size_t silence = quietest(clean);
    for (size_t i = 0; i < N; i++) {
        voice[i] = sound->mean[i];
    }
    for (int round = 0; round < VOICE_ROUNDS; round++) {
        double mean[N];
        lifted_mean(clean, silence, bank, voice, mean);
        for (size_t i = 0; i < N; i++) {
            voice[i] += sound->mean[i] - mean[i];
        }
    }
}

/* What all Gaussians are moved by. */
struct shift {
    const struct sl_gaussians *clean;
    struct sl_gaussians *noisy;
    const struct sl_noisy_sound *sound;
    struct bank bank;
    double voice[N];
};

/* The cepstra's own Gaussians of a codebook; their mean share of speech is added to `mean_share`.
 */
static void move_static(const struct shift *shift, size_t codebook,
                        double mean_share[SL_FILTERS_MOST])
{
    const struct sl_gaussians *clean = shift->clean;
    for (size_t d = 0; d < clean->n_densities; d++) {
        size_t at = place(clean, codebook, 0, d);
        double cepstra[N];
        double share[SL_FILTERS_MOST];
        double by_speech[N][N];
        for (size_t i = 0; i < N; i++) {
            cepstra[i] = (double)clean->means[at + i] + shift->voice[i];
        }
        lift(&shift->bank, cepstra, share);
        derive(&shift->bank, share, by_speech);
        struct change change = {(const double(*)[N])by_speech, shift->sound->noise_variance, 1};
        move_variance(&change, clean->variances + at, shift->noisy->variances + at);
        for (size_t i = 0; i < N; i++) {
            shift->noisy->means[at + i] = (float)(cepstra[i] - shift->sound->mean[i]);
        }
        for (size_t m = 0; m < shift->bank.n_filters; m++) {
            mean_share[m] += share[m] / (double)clean->n_densities;
        }
    }
}

/* The Gaussians of changes from `first` on: nothing says which sound they belong to but their
 * codebook. */
static void move_change(const struct shift *shift, size_t first, const struct change *change)
{
    const struct sl_gaussians *clean = shift->clean;
    for (size_t d = 0; d < clean->n_densities; d++) {
        size_t at = first + d * N;
        move_variance(change, clean->variances + at, shift->noisy->variances + at);
        for (size_t i = 0; i < N; i++) {
            double sum = 0;
            for (size_t j = 0; j < N; j++) {
                sum += change->by_speech[i][j] * (double)clean->means[at + j];
            }
            shift->noisy->means[at + i] = (float)sum;
        }
    }
}

enum sl_status sl_noise_shift(const struct sl_gaussians *clean, const struct sl_cepstrum_form *form,
                              const struct sl_noisy_sound *sound, struct sl_gaussians *noisy,
                              struct sl_error *error)
{
    struct shift *shift = calloc(1, sizeof *shift);
    if (shift == NULL) {
        return sl_fail_memory(error);
    }
    shift->clean = clean;
    shift->noisy = noisy;
    shift->sound = sound;
    make_bank(form, sound->noise, &shift->bank);
    find_voice(clean, &shift->bank, sound, shift->voice);
    for (size_t c = 0; c < clean->n_codebooks; c++) {
        double share[SL_FILTERS_MOST] = {0};
        double by_speech[N][N];
        move_static(shift, c, share);
        derive(&shift->bank, share, by_speech);
        /* The change is a difference of two frames, the change of that a sum of four. */
        struct change change = {(const double(*)[N])by_speech, sound->noise_variance, 2};
        move_change(shift, place(clean, c, 1, 0), &change);
        change.noise_times = 4;
        move_change(shift, place(clean, c, 2, 0), &change);
    }
    free(shift);
    return SL_OK;
}
