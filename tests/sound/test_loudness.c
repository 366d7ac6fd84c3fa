#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

#include "sound/loudness.h"
#include "sound/tones.h"
#include "support/near.h"

/* A sine with the peak level `peak_db` in every channel. The caller frees. */
static int16_t *make_sine(double hz, double peak_db, const struct sl_frames *frames)
{
    int16_t *samples = calloc(frames->n_frames * frames->channels, sizeof *samples);
    double amplitude = 32767 * pow(10, peak_db / 20);
    for (size_t i = 0; i < frames->n_frames * frames->channels; i++) {
        size_t frame = i / frames->channels;
        samples[i] = (int16_t)lround(amplitude * tone_at(hz, frames->rate_hz, frame));
    }
    return samples;
}

static struct sl_loudness measure(double hz, double peak_db, struct sl_frames frames)
{
    struct sl_loudness loudness = {0};
    int16_t *samples = make_sine(hz, peak_db, &frames);
    frames.samples = samples;
    assert_int_equal(sl_loudness_measure(&frames, &loudness, NULL), SL_OK);
    free(samples);
    return loudness;
}

/* EBU Tech 3341, cases 1 and 2 (read in a secondary copy): a stereo sine of 1 kHz at a peak of -23
 * (-33) dBFS for 20 s has -23.0 (-33.0) +/- 0.1 LUFS. */
static void ebu_tech_3341_cases_1_and_2_are_met(void **state)
{
    (void)state;
    struct sl_frames frames = {.n_frames = 20 * 48000, .channels = 2, .rate_hz = 48000};
    assert_near(measure(1000, -23, frames).integrated_lufs, -23.0, 0.1);
    assert_near(measure(1000, -33, frames).integrated_lufs, -33.0, 0.1);
}

/* One channel counts once: 3.01 dB below the same in two (ITU-R BS.1770 sums the channels' powers;
 * from memory). */
static void one_channel_counts_once_at_the_rate_of_cues(void **state)
{
    (void)state;
    struct sl_frames frames = {.n_frames = 20 * 16000, .channels = 1, .rate_hz = 16000};
    assert_near(measure(1000, -20, frames).integrated_lufs, -23.0, 0.15);
}

static void a_short_sound_is_as_loud_as_a_long_one_of_its_kind(void **state)
{
    (void)state;
    struct sl_frames shorter = {.n_frames = 16000 / 5, .channels = 1, .rate_hz = 16000};
    struct sl_frames longer = {.n_frames = 16000 * 4, .channels = 1, .rate_hz = 16000};
    assert_near(measure(1000, -20, shorter).integrated_lufs,
                measure(1000, -20, longer).integrated_lufs, 0.1);
}

/* A sine at a quarter of the rate, sampled at 45 degrees, has samples 3.01 dB below its peak: the
 * true peak is the sine's (EBU Tech 3341 allows +0.2/-0.4 dB; from memory). */
static void the_true_peak_lies_between_the_samples(void **state)
{
    (void)state;
    enum { N = 48000 };
    static int16_t samples[N];
    for (size_t i = 0; i < N; i++) {
        samples[i] = (int16_t)lround(0.5 * 32767 * sin(SL_PI / 2 * (double)i + SL_PI / 4));
    }
    struct sl_frames frames = {.samples = samples, .n_frames = N, .channels = 1, .rate_hz = 48000};
    struct sl_loudness loudness = {0};
    assert_int_equal(sl_loudness_measure(&frames, &loudness, NULL), SL_OK);
    assert_true(loudness.true_peak_dbtp > -6.02 - 0.4 && loudness.true_peak_dbtp < -6.02 + 0.2);
}

static void silence_has_no_loudness(void **state)
{
    (void)state;
    static const int16_t nothing[16000];
    struct sl_frames frames = {
        .samples = nothing, .n_frames = 16000, .channels = 1, .rate_hz = 16000};
    struct sl_loudness loudness = {0};
    assert_int_equal(sl_loudness_measure(&frames, &loudness, NULL), SL_OK);
    assert_true(isinf(loudness.integrated_lufs) && loudness.integrated_lufs < 0);
    assert_true(isinf(loudness.true_peak_dbtp) && loudness.true_peak_dbtp < 0);
}

static void what_cannot_be_measured_is_refused(void **state)
{
    (void)state;
    static const int16_t samples[8];
    const struct sl_frames rows[] = {
        {samples, 0, 1, 16000}, {samples, 4, 0, 16000},  {samples, 4, 3, 16000},
        {samples, 4, 1, 4000},  {samples, 4, 1, 400000},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_loudness loudness;
        assert_int_equal(sl_loudness_measure(&rows[i], &loudness, NULL), SL_INVALID);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ebu_tech_3341_cases_1_and_2_are_met),
        cmocka_unit_test(one_channel_counts_once_at_the_rate_of_cues),
        cmocka_unit_test(a_short_sound_is_as_loud_as_a_long_one_of_its_kind),
        cmocka_unit_test(the_true_peak_lies_between_the_samples),
        cmocka_unit_test(silence_has_no_loudness),
        cmocka_unit_test(what_cannot_be_measured_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
