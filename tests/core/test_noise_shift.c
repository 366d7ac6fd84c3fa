/*
 * Gaussians lifted by noise against the formula itself, y = log(exp(x) + exp(n)) in the filters'
 * log energies, written out here on its own, and against its derivative by differences.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/noise_shift.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define N SL_VOICE_CEPSTRA
#define FILTERS 25
#define LIFTER 22.0
#define DENSITIES 8
#define CODEBOOKS 2 /* speech, silence */
#define FLOATS ((size_t)CODEBOOKS * SL_GAUSSIAN_STREAMS * DENSITIES * N)
#define PI 3.14159265358979323846

static const struct sl_cepstrum_form form = {FILTERS, LIFTER};

static double wave(int i, int m)
{
    return sqrt((i == 0 ? 1.0 : 2.0) / FILTERS) * cos(PI * i * (m + 0.5) / FILTERS);
}

static double lift_of(int i)
{
    return 1 + LIFTER / 2 * sin(PI * i / LIFTER);
}

/* Cepstra of clean speech and of noise to those of both together. */
static void add_up(const double speech[N], const double noise[N], double sum[N])
{
    memcpy(sum, speech, N * sizeof *sum);
    for (int m = 0; m < FILTERS; m++) {
        double x = 0;
        double n = 0;
        for (int i = 0; i < N; i++) {
            x += wave(i, m) * speech[i] / lift_of(i);
            n += wave(i, m) * noise[i] / lift_of(i);
        }
        for (int i = 0; i < N; i++) {
            sum[i] += lift_of(i) * wave(i, m) * (log(exp(x) + exp(n)) - x);
        }
    }
}

struct fixture {
    float clean_means[FLOATS], clean_variances[FLOATS], means[FLOATS], variances[FLOATS];
    struct sl_gaussians clean, noisy;
    struct sl_noisy_sound sound;
    double voice[N];
};

/* The Gaussian of the speech's codebook. */
static size_t place(size_t stream, size_t density)
{
    return (stream * DENSITIES + density) * N;
}

/* Made-up Gaussians and a noise this far below the voice; the sound's mean is that of the speech's
 * Gaussians under voice and noise. */
static void make(struct fixture *fix, double noise_c0)
{
    *fix = (struct fixture){.voice = {60, 3, -2, 4, -1, 2, 0, -3, 1, 2, -1, 0, 1},
                            .sound.noise = {noise_c0, -12, -9, -6, -4, -3, -2, -2, -1, 0, 1, 0, 1}};
    fix->clean =
        (struct sl_gaussians){CODEBOOKS, DENSITIES, fix->clean_means, fix->clean_variances};
    fix->noisy = (struct sl_gaussians){CODEBOOKS, DENSITIES, fix->means, fix->variances};
    for (size_t at = 0; at < FLOATS; at++) {
        size_t density = at / N % DENSITIES;
        bool silence = at >= FLOATS / CODEBOOKS;
        fix->clean_means[at] = (float)(10 * sin((double)(density * N + at % N) * 1.7));
        fix->clean_means[at] -= silence && at % N == 0 ? 40 : 0;
        fix->clean_variances[at] = (float)(5 + (double)(at % 7));
    }
    for (size_t i = 0; i < N; i++) {
        fix->sound.noise_variance[i] = 2 + (double)i / 4;
    }
    /* Half of the densities are like the others, so that any selection has the same mean. */
    for (size_t d = 0; d < DENSITIES; d++) {
        memcpy(fix->clean_means + place(0, d), fix->clean_means + place(0, d / 4 * 4),
               N * sizeof(float));
    }
    for (size_t d = 0; d < DENSITIES; d++) {
        double speech[N];
        double sum[N];
        for (size_t i = 0; i < N; i++) {
            speech[i] = (double)fix->clean_means[place(0, d) + i] + fix->voice[i];
        }
        add_up(speech, fix->sound.noise, sum);
        for (size_t i = 0; i < N; i++) {
            fix->sound.mean[i] += sum[i] / DENSITIES;
        }
    }
}

static void shift(struct fixture *fix)
{
    assert_int_equal(sl_noise_shift(&fix->clean, &form, &fix->sound, &fix->noisy, NULL), SL_OK);
}

static void means_are_those_of_speech_and_noise_together(void **state)
{
    (void)state;
    static struct fixture fix;
    make(&fix, 55);
    shift(&fix);
    for (size_t d = 0; d < DENSITIES; d++) {
        double speech[N];
        double sum[N];
        for (size_t i = 0; i < N; i++) {
            speech[i] = (double)fix.clean_means[place(0, d) + i] + fix.voice[i];
        }
        add_up(speech, fix.sound.noise, sum);
        for (size_t i = 0; i < N; i++) {
            double wanted = sum[i] - fix.sound.mean[i];
            assert_float_equal(fix.means[place(0, d) + i], (float)wanted, 0.2F);
        }
    }
}

static void variances_follow_the_derivative(void **state)
{
    (void)state;
    static struct fixture fix;
    make(&fix, 55);
    shift(&fix);
    double wanted[N] = {0};
    for (size_t j = 0; j < N; j++) {
        double ends[2][N];
        for (int side = 0; side < 2; side++) {
            double speech[N];
            for (size_t i = 0; i < N; i++) {
                speech[i] = (double)fix.clean_means[place(0, 4) + i] + fix.voice[i];
            }
            speech[j] += side == 0 ? -0.01 : 0.01;
            add_up(speech, fix.sound.noise, ends[side]);
        }
        for (size_t i = 0; i < N; i++) {
            double by_speech = (ends[1][i] - ends[0][i]) / 0.02;
            double by_noise = (i == j ? 1 : 0) - by_speech;
            wanted[i] += by_speech * by_speech * (double)fix.clean_variances[place(0, 4) + j] +
                         by_noise * by_noise * fix.sound.noise_variance[j];
        }
    }
    for (size_t i = 0; i < N; i++) {
        assert_float_equal(fix.variances[place(0, 4) + i], (float)wanted[i],
                           (float)(0.05 * wanted[i]));
    }
}

static void noise_far_below_changes_nothing_but_the_mean(void **state)
{
    (void)state;
    static struct fixture fix;
    make(&fix, -200);
    shift(&fix);
    for (size_t stream = 1; stream < SL_GAUSSIAN_STREAMS; stream++) {
        for (size_t at = place(stream, 0); at < place(stream + 1, 0); at++) {
            assert_float_equal(fix.means[at], fix.clean_means[at], 1e-3F);
            assert_float_equal(fix.variances[at], fix.clean_variances[at], 1e-3F);
        }
    }
    for (size_t i = 0; i < N; i++) {
        float apart = fix.clean_means[place(0, 4) + i] - fix.clean_means[place(0, 0) + i];
        assert_float_equal(fix.means[place(0, 4) + i] - fix.means[place(0, 0) + i], apart, 1e-3F);
    }
}

static void changes_fade_in_loud_noise(void **state)
{
    (void)state;
    static struct fixture fix;
    make(&fix, 160);
    shift(&fix);
    float clean = 0;
    float noisy = 0;
    for (size_t i = 0; i < N; i++) {
        size_t at = place(1, 3) + i;
        clean += fabsf(fix.clean_means[at]);
        noisy += fabsf(fix.means[at]);
        /* A change is a difference of two frames: twice the variance of one. */
        assert_float_equal(fix.variances[at], (float)(2 * fix.sound.noise_variance[i]), 1.0F);
    }
    assert_true(noisy < 0.1F * clean);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(means_are_those_of_speech_and_noise_together),
        cmocka_unit_test(variances_follow_the_derivative),
        cmocka_unit_test(noise_far_below_changes_nothing_but_the_mean),
        cmocka_unit_test(changes_fade_in_loud_noise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
