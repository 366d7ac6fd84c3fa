/*
 * Scores of senones against the densities of their mixtures written out in full, a sum over the
 * Gaussians that count with the library's mathematics.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/senones.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#define N SL_VOICE_CEPSTRA
#define STREAMS SL_GAUSSIAN_STREAMS
#define CODEBOOKS ((size_t)3)
#define DENSITIES ((size_t)8)
#define SENONES ((size_t)70)
#define GAUSSIANS (CODEBOOKS * STREAMS * DENSITIES)
#define UNIT 0.1024
#define FRAMES ((size_t)5)

/* Codebooks take turns, so that senones have to be put into order. One has so many senones that
 * some are worked on in a run of blocks, and some by the block. */
static uint16_t codebook_of(size_t senone)
{
    return senone % 5 == 1 ? 0 : senone % 5 == 3 ? 1 : 2;
}

struct fixture {
    float means[GAUSSIANS * N], variances[GAUSSIANS * N];
    struct sl_gaussians gaussians;
    uint16_t codebooks[SENONES];
    uint8_t weights[STREAMS * DENSITIES * SENONES];
    float features[FRAMES][STREAMS][N];
    struct sl_senones *senones;
};

static void make(struct fixture *fix)
{
    *fix = (struct fixture){0};
    fix->gaussians = (struct sl_gaussians){CODEBOOKS, DENSITIES, fix->means, fix->variances};
    for (size_t i = 0; i < GAUSSIANS * N; i++) {
        fix->means[i] = (float)sin(1.7 * (double)i);
        fix->variances[i] = (float)(0.5 + (double)(i * 7 % 11) / 4);
    }
    for (size_t s = 0; s < SENONES; s++) {
        fix->codebooks[s] = codebook_of(s);
    }
    for (size_t i = 0; i < sizeof fix->weights; i++) {
        fix->weights[i] = (uint8_t)(i * 37 % 50);
    }
    for (size_t i = 0; i < FRAMES * STREAMS * N; i++) {
        fix->features[i / N / STREAMS][i / N % STREAMS][i % N] =
            (float)(1.5 * cos(0.9 * (double)i));
    }
    const struct sl_senone_mixtures mixtures = {SENONES,        CODEBOOKS,    DENSITIES,
                                                fix->codebooks, fix->weights, UNIT};
    assert_int_equal(sl_senones_new(&mixtures, &fix->senones, NULL), SL_OK);
    sl_senones_fit(fix->senones, &fix->gaussians);
}

static double log_density(const struct fixture *fix, size_t gaussian, const float *x)
{
    double sum = 0;
    for (size_t i = 0; i < N; i++) {
        double variance = (double)fix->variances[gaussian * N + i];
        double off = (double)x[i] - (double)fix->means[gaussian * N + i];
        sum -= off * off / variance / 2 + log(variance) / 2;
    }
    return sum;
}

static double best_density(const struct fixture *fix, size_t codebook, size_t stream,
                           const float *x)
{
    double best = -INFINITY;
    for (size_t d = 0; d < DENSITIES; d++) {
        size_t gaussian = (codebook * STREAMS + stream) * DENSITIES + d;
        best = fmax(best, log_density(fix, gaussian, x));
    }
    return best;
}

/* Log likelihood of a stream of a senone, against the best Gaussian of the stream. */
static double log_mixture(const struct fixture *fix, size_t senone, size_t stream, const float *x)
{
    size_t codebook = codebook_of(senone);
    double best = -INFINITY;
    for (size_t c = 0; c < CODEBOOKS; c++) {
        best = fmax(best, best_density(fix, c, stream, x));
    }
    double near = best_density(fix, codebook, stream, x) - SL_SENONE_NEAR_NATS;
    double sum = 0;
    for (size_t d = 0; d < DENSITIES; d++) {
        double density = log_density(fix, (codebook * STREAMS + stream) * DENSITIES + d, x);
        double weight = exp(-UNIT * fix->weights[(stream * DENSITIES + d) * SENONES + senone]);
        if (density >= near) {
            sum += weight * exp(fmax(density - best, -SL_SENONE_FLOOR_NATS));
        }
    }
    assert_true(sum > 0);
    return log(fmax(sum, DBL_MIN));
}

static void scores_are_those_of_the_mixtures_written_out(void **state)
{
    (void)state;
    struct fixture fix;
    make(&fix);
    for (size_t f = 0; f < FRAMES; f++) {
        int16_t scores[SENONES];
        sl_senones_score(fix.senones, (const float(*)[N])fix.features[f], scores);
        double nats[SENONES];
        double best = -INFINITY;
        for (size_t s = 0; s < SENONES; s++) {
            nats[s] = 0;
            for (size_t stream = 0; stream < STREAMS; stream++) {
                nats[s] += log_mixture(&fix, s, stream, fix.features[f][stream]);
            }
            best = fmax(best, nats[s]);
        }
        for (size_t s = 0; s < SENONES; s++) {
            double units = (best - nats[s]) / UNIT;
            assert_true(fabs(scores[s] - units) <= 0.55);
        }
    }
    sl_senones_free(fix.senones);
}

/* Worked by hand: where a frame lies on a codebook's Gaussian, all weights being one, another whose
 * Gaussians all lie d away in one feature of variance v is d * d / (2 v) nats less likely; and
 * never more than the floor. */
static void distance_tells_until_the_floor(void **state)
{
    (void)state;
    for (int far = 0; far < 2; far++) {
        struct fixture fix;
        make(&fix);
        double off = far ? 40 : 4;
        for (size_t i = 0; i < GAUSSIANS * N; i++) {
            bool first = i / (N * DENSITIES) % STREAMS == 0 && i % N == 0;
            fix.means[i] = first && i / (N * DENSITIES * STREAMS) == 1 ? (float)off : 0;
            fix.variances[i] = 2;
        }
        memset(fix.weights, 0, sizeof fix.weights);
        memset(fix.features, 0, sizeof fix.features);
        sl_senones_free(fix.senones);
        const struct sl_senone_mixtures mixtures = {SENONES,       CODEBOOKS,   DENSITIES,
                                                    fix.codebooks, fix.weights, UNIT};
        assert_int_equal(sl_senones_new(&mixtures, &fix.senones, NULL), SL_OK);
        sl_senones_fit(fix.senones, &fix.gaussians);
        int16_t scores[SENONES];
        sl_senones_score(fix.senones, (const float(*)[N])fix.features[0], scores);
        long units = lround((far ? SL_SENONE_FLOOR_NATS : 4.0) / UNIT);
        for (size_t s = 0; s < SENONES; s++) {
            assert_int_equal(scores[s], fix.codebooks[s] == 1 ? units : 0);
        }
        sl_senones_free(fix.senones);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(scores_are_those_of_the_mixtures_written_out),
        cmocka_unit_test(distance_tells_until_the_floor),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
