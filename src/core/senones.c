#include "core/senones.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define LN2 0.6931471805599453F
#define STREAMS SL_GAUSSIAN_STREAMS
#define SIZE SL_VOICE_CEPSTRA
#define BLOCK SL_SENONE_BLOCK
#define RUN ((size_t)4) /* blocks of senones worked on in a row: their weights lie in a row too */
#define MOST 64 /* Gaussians of a stream of a codebook that count; more are hardly ever so near */

/* Numbers that are worked on side by side: left to find that out by itself, the compiler turns the
 * loops around, at nearly twice the cost. */
typedef float lanes __attribute__((vector_size(BLOCK * sizeof(float))));
typedef int32_t flags __attribute__((vector_size(BLOCK * sizeof(int32_t)))); /* 0 or -1 */

/* A function in two versions, of which the processor's own is taken when the program starts. Both
 * compute the same: no multiplication is fused with an addition. */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define IN_TWO_VERSIONS __attribute__((target_clones("avx2", "default")))
#else
#define IN_TWO_VERSIONS
#endif
/* A part of such a function. */
#define PART static inline __attribute__((always_inline))

/* A Gaussian that counts. */
struct likely {
    float score; /* log density, later the density against the best of the stream */
    uint32_t density;
};

/* Those of a stream of a codebook. */
struct chosen {
    float best; /* log density */
    size_t n;
    struct likely likely[MOST + BLOCK]; /* MOST of them in the end */
};

/* Senones have places in the order of their codebooks, each codebook beginning a block; the places
 * that are left over in its last one are nobody's. */
struct sl_senones {
    size_t n_senones, n_codebooks, n_densities;
    float unit;
    size_t *first;         /* place of each codebook's first senone, and the number of places */
    size_t *senone;        /* by place; n_senones: nobody's */
    float *weights;        /* by stream, codebook, density, place within the codebook */
    float *means;          /* by codebook, stream, block of Gaussians, feature, Gaussian */
    float *halves;         /* likewise: half of one over the variance */
    float *constants;      /* by codebook, stream, Gaussian: of the log density, without 2 pi */
    float *scores;         /* by density: of the stream of a codebook at hand */
    struct chosen *chosen; /* by stream, codebook */
    float *likelihood;     /* by place */
};

PART void load(const float numbers[BLOCK], lanes *to)
{
    memcpy(to, numbers, sizeof *to);
}

PART void store(const lanes *numbers, float to[BLOCK])
{
    for (size_t k = 0; k < BLOCK; k++) {
        to[k] = (*numbers)[k];
    }
}

static size_t n_mixtures(const struct sl_senones *senones)
{
    return senones->n_codebooks * STREAMS;
}

/* Gives each codebook its places. */
static bool divide(struct sl_senones *senones, const uint16_t *codebook)
{
    senones->first = calloc(senones->n_codebooks + 1, sizeof *senones->first);
    if (senones->first == NULL) {
        return false;
    }
    for (size_t s = 0; s < senones->n_senones; s++) {
        assert(codebook[s] < senones->n_codebooks);
        senones->first[codebook[s] + 1]++;
    }
    for (size_t c = 1; c <= senones->n_codebooks; c++) {
        size_t blocks = (senones->first[c] + BLOCK - 1) / BLOCK;
        senones->first[c] = senones->first[c - 1] + blocks * BLOCK;
    }
    return true;
}

/* Gives each senone its place. */
static void place(struct sl_senones *senones, const uint16_t *codebook)
{
    for (size_t c = 0; c < senones->n_codebooks; c++) {
        size_t next = senones->first[c];
        for (size_t s = 0; s < senones->n_senones; s++) {
            if (codebook[s] == c) {
                senones->senone[next++] = s;
            }
        }
        while (next < senones->first[c + 1]) {
            senones->senone[next++] = senones->n_senones;
        }
    }
}

static size_t n_places(const struct sl_senones *senones)
{
    return senones->first[senones->n_codebooks];
}

/* Where the weights of a stream of a codebook begin, a row for each density. */
static float *weights_of(const struct sl_senones *senones, size_t stream, size_t codebook)
{
    return senones->weights +
           (stream * n_places(senones) + senones->first[codebook]) * senones->n_densities;
}

static void copy_weights(struct sl_senones *senones, const struct sl_senone_mixtures *mixtures)
{
    float value[UINT8_MAX + 1];
    for (size_t i = 0; i <= UINT8_MAX; i++) {
        value[i] = (float)exp(-(double)i * mixtures->unit);
    }
    for (size_t row = 0; row < STREAMS * senones->n_codebooks * senones->n_densities; row++) {
        size_t d = row % senones->n_densities;
        size_t c = row / senones->n_densities % senones->n_codebooks;
        size_t stream = row / senones->n_densities / senones->n_codebooks;
        size_t n = senones->first[c + 1] - senones->first[c];
        const uint8_t *from =
            mixtures->weights + (stream * senones->n_densities + d) * senones->n_senones;
        float *to = weights_of(senones, stream, c) + d * n;
        for (size_t i = 0; i < n; i++) {
            size_t senone = senones->senone[senones->first[c] + i];
            to[i] = senone < senones->n_senones ? value[from[senone]] : 0;
        }
    }
}

static bool make_room(struct sl_senones *senones)
{
    size_t n_gaussians = n_mixtures(senones) * senones->n_densities;
    assert(n_gaussians > 0 && n_places(senones) > 0);
    senones->senone = malloc(n_places(senones) * sizeof *senones->senone);
    senones->weights =
        malloc(STREAMS * senones->n_densities * n_places(senones) * sizeof *senones->weights);
    senones->means = malloc(n_gaussians * SIZE * sizeof *senones->means);
    senones->halves = malloc(n_gaussians * SIZE * sizeof *senones->halves);
    senones->constants = malloc(n_gaussians * sizeof *senones->constants);
    senones->scores = malloc(senones->n_densities * sizeof *senones->scores);
    senones->chosen = malloc(n_mixtures(senones) * sizeof *senones->chosen);
    senones->likelihood = malloc(n_places(senones) * sizeof *senones->likelihood);
    return senones->senone != NULL && senones->weights != NULL && senones->means != NULL &&
           senones->halves != NULL && senones->constants != NULL && senones->scores != NULL &&
           senones->chosen != NULL && senones->likelihood != NULL;
}

enum sl_status sl_senones_new(const struct sl_senone_mixtures *mixtures,
                              struct sl_senones **senones, struct sl_error *error)
{
    assert(mixtures->n_senones > 0 && mixtures->n_densities % BLOCK == 0 && mixtures->unit > 0);
    struct sl_senones *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->n_senones = mixtures->n_senones;
    made->n_codebooks = mixtures->n_codebooks;
    made->n_densities = mixtures->n_densities;
    made->unit = (float)mixtures->unit;
    if (!divide(made, mixtures->codebook) || !make_room(made)) {
        sl_senones_free(made);
        return sl_fail_memory(error);
    }
    place(made, mixtures->codebook);
    copy_weights(made, mixtures);
    *senones = made;
    return SL_OK;
}

void sl_senones_free(struct sl_senones *senones)
{
    if (senones == NULL) {
        return;
    }
    free(senones->first);
    free(senones->senone);
    free(senones->weights);
    free(senones->means);
    free(senones->halves);
    free(senones->constants);
    free(senones->scores);
    free(senones->chosen);
    free(senones->likelihood);
    free(senones);
}

size_t sl_senones_count(const struct sl_senones *senones)
{
    return senones->n_senones;
}

void sl_senones_fit(struct sl_senones *senones, const struct sl_gaussians *gaussians)
{
    size_t n = senones->n_densities;
    assert(gaussians->n_codebooks == senones->n_codebooks && gaussians->n_densities == n);
    for (size_t g = 0; g < n_mixtures(senones) * n; g++) {
        size_t to = g / BLOCK * BLOCK * SIZE + g % BLOCK;
        double logs = 0;
        for (size_t i = 0; i < SIZE; i++) {
            float variance = gaussians->variances[g * SIZE + i];
            senones->means[to + i * BLOCK] = gaussians->means[g * SIZE + i];
            senones->halves[to + i * BLOCK] = 0.5F / variance;
            logs += log((double)variance);
        }
        senones->constants[g] = (float)(-logs / 2);
    }
}

/* Fills `scores` with the log densities of BLOCK Gaussians from number g on. */
PART void score_block(const struct sl_senones *senones, size_t g, const float features[SIZE],
                      float scores[BLOCK])
{
    lanes sum;
    load(senones->constants + g, &sum);
    for (size_t i = 0; i < SIZE; i++) {
        lanes mean;
        lanes half;
        load(senones->means + g * SIZE + i * BLOCK, &mean);
        load(senones->halves + g * SIZE + i * BLOCK, &half);
        lanes off = features[i] - mean;
        sum -= off * off * half;
    }
    store(&sum, scores);
}

/* Those of a stream, by codebook. */
static struct chosen *chosen_of(const struct sl_senones *senones, size_t stream)
{
    return senones->chosen + stream * senones->n_codebooks;
}

/* Of n numbers, a multiple of BLOCK. */
PART float largest(const float *numbers, size_t n)
{
    lanes best;
    lanes more;
    load(numbers, &best);
    for (size_t i = BLOCK; i < n; i += BLOCK) {
        load(numbers + i, &more);
        const flags higher = more > best;
        best = (lanes)(((flags)more & higher) | ((flags)best & ~higher));
    }
    float most = best[0];
    for (size_t k = 1; k < BLOCK; k++) {
        most = best[k] > most ? best[k] : most;
    }
    return most;
}

/* True when one of BLOCK numbers is no less than `least`. */
PART bool reach(const float numbers[BLOCK], float least)
{
    lanes block;
    load(numbers, &block);
    const flags reaching = block >= least;
    int32_t any = 0;
    for (size_t k = 0; k < BLOCK; k++) {
        any |= reaching[k];
    }
    return any != 0;
}

/* The likeliest of a stream of a codebook. */
PART void choose(const struct sl_senones *senones, size_t mixture, const float features[SIZE],
                 struct chosen *chosen)
{
    const size_t n = senones->n_densities;
    float *scores = senones->scores;
    for (size_t d = 0; d < n; d += BLOCK) {
        score_block(senones, mixture * n + d, features, scores + d);
    }
    chosen->best = largest(scores, n);
    float least = chosen->best - (float)SL_SENONE_NEAR_NATS;
    size_t count = 0;
    for (size_t d = 0; d < n && count < MOST; d += BLOCK) {
        if (!reach(scores + d, least)) {
            continue;
        }
        for (size_t k = 0; k < BLOCK; k++) {
            chosen->likely[count] = (struct likely){scores[d + k], (uint32_t)(d + k)};
            count += scores[d + k] >= least ? 1 : 0; /* no branch: none could foresee it */
        }
    }
    chosen->n = count < MOST ? count : MOST;
}

/* Makes densities of the logarithms of a stream, against the best of all codebooks. */
PART void level(const struct sl_senones *senones, struct chosen *chosen)
{
    const float floor = -(float)SL_SENONE_FLOOR_NATS;
    float best = -FLT_MAX;
    for (size_t c = 0; c < senones->n_codebooks; c++) {
        best = chosen[c].best > best ? chosen[c].best : best;
    }
    for (size_t c = 0; c < senones->n_codebooks; c++) {
        for (size_t i = 0; i < chosen[c].n; i++) {
            float below = chosen[c].likely[i].score - best;
            chosen[c].likely[i].score = expf(below > floor ? below : floor);
        }
    }
}

/* Multiplies the likelihoods of n blocks of senones by those of their mixtures; weights has a row
 * of `width` for each density. */
PART void multiply_blocks(const struct chosen *chosen, const float *weights, size_t width, size_t n,
                          float *likelihood)
{
    lanes sums[RUN] = {0};
    lanes row;
    for (size_t i = 0; i < chosen->n; i++) {
        for (size_t b = 0; b < n; b++) {
            load(weights + chosen->likely[i].density * width + b * BLOCK, &row);
            sums[b] += chosen->likely[i].score * row;
        }
    }
    for (size_t b = 0; b < n; b++) {
        load(likelihood + b * BLOCK, &row);
        sums[b] *= row;
        store(&sums[b], likelihood + b * BLOCK);
    }
}

/* Multiplies the likelihoods of a codebook's senones by those of their mixtures of one stream. */
PART void multiply(const struct sl_senones *senones, size_t stream, size_t codebook)
{
    const struct chosen *chosen = chosen_of(senones, stream) + codebook;
    const float *weights = weights_of(senones, stream, codebook);
    float *likelihood = senones->likelihood + senones->first[codebook];
    size_t n = senones->first[codebook + 1] - senones->first[codebook];
    size_t p = 0;
    for (; p + RUN * BLOCK <= n; p += RUN * BLOCK) {
        multiply_blocks(chosen, weights + p, n, RUN, likelihood + p);
    }
    for (; p < n; p += BLOCK) {
        multiply_blocks(chosen, weights + p, n, 1, likelihood + p);
    }
}

/* The logarithm to the base of 2 of a positive number, good to 0.0008: from a float's exponent, and
 * a polynomial for its mantissa. */
PART float quick_log2(float value)
{
    int32_t bits = 0;
    memcpy(&bits, &value, sizeof bits);
    const int32_t mantissa_bits = (bits & 0x7fffff) | 0x3f800000;
    float m = 0;
    memcpy(&m, &mantissa_bits, sizeof m);
    float log_m = ((0.15270028F * m - 1.02680491F) * m + 3.01116215F) * m - 2.13623207F;
    return (float)((bits >> 23) - 127) + log_m;
}

PART void write_scores(struct sl_senones *senones, int16_t *scores)
{
    const float units = LN2 / senones->unit;
    float *likelihood = senones->likelihood;
    for (size_t p = 0; p < n_places(senones); p++) {
        likelihood[p] = units * quick_log2(likelihood[p]);
    }
    float best = largest(likelihood, n_places(senones)); /* nobody's are the least */
    for (size_t p = 0; p < n_places(senones); p++) {
        if (senones->senone[p] < senones->n_senones) {
            scores[senones->senone[p]] = (int16_t)(best - likelihood[p] + 0.5F);
        }
    }
}

IN_TWO_VERSIONS
void sl_senones_score(struct sl_senones *senones, const float features[STREAMS][SIZE],
                      int16_t *scores)
{
    for (size_t m = 0; m < n_mixtures(senones); m++) {
        choose(senones, m, features[m % STREAMS], chosen_of(senones, m % STREAMS) + m / STREAMS);
    }
    for (size_t p = 0; p < n_places(senones); p++) {
        senones->likelihood[p] = 1;
    }
    for (size_t stream = 0; stream < STREAMS; stream++) {
        level(senones, chosen_of(senones, stream));
        for (size_t c = 0; c < senones->n_codebooks; c++) {
            multiply(senones, stream, c);
        }
    }
    write_scores(senones, scores);
}
