/*
 * What rooms and microphones do to a sound, measured.
 */
#include "microphone.h"
#include "room.h"

#include <math.h>
#include <stdlib.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define TWO_PI 6.283185307179586

static struct corpus_sound new_sound(double seconds)
{
    struct corpus_sound sound = {.n = (size_t)(seconds * CORPUS_RATE_HZ)};
    sound.samples = calloc(sound.n, sizeof *sound.samples);
    assert_non_null(sound.samples);
    return sound;
}

/* Energy from sample `from` on, in dB. */
static double rest_db(const struct corpus_sound *sound, size_t from)
{
    double sum = 1e-30;
    for (size_t i = from; i < sound->n; i++) {
        sum += (double)sound->samples[i] * sound->samples[i];
    }
    return 10 * log10(sum);
}

/* The reverberation time as ISO 3382 measures it: the energy still to come (Schroeder's backward
 * integration of the response to an impulse), its fall from -5 to -25 dB taken three times. */
static double measured_t60_s(const struct corpus_sound *response)
{
    double whole_db = rest_db(response, 1);
    size_t at = 1;
    while (rest_db(response, at) > whole_db - 5) {
        at += 16;
    }
    size_t from = at;
    while (rest_db(response, at) > whole_db - 25) {
        at += 16;
    }
    return 3 * (double)(at - from) / CORPUS_RATE_HZ;
}

static void reverberation_falls_as_fast_and_is_as_strong_as_asked(void **state)
{
    (void)state;
    static const double times_s[] = {0.1, 0.3, 0.5};
    for (size_t i = 0; i < 3; i++) {
        struct corpus_rng rng;
        corpus_rng_init(&rng, 3 + i);
        struct corpus_sound response = new_sound(1);
        response.samples[0] = 1;
        assert_int_equal(corpus_room_reverb(&rng, times_s[i], 6, &response, NULL), SL_OK);
        assert_float_equal((float)response.samples[0], 1, 1e-6F);
        assert_float_equal((float)rest_db(&response, 1), -6, 0.1F);
        double t60_s = measured_t60_s(&response);
        assert_true(fabs(t60_s / times_s[i] - 1) < 0.12);
        free(response.samples);
    }
}

/* How much of a tone a microphone passes on, in dB. */
static double gain_db(enum corpus_microphone microphone, double hz)
{
    struct corpus_sound tone = new_sound(1);
    for (size_t i = 0; i < tone.n; i++) {
        tone.samples[i] = (float)(0.5 * sin(TWO_PI * hz * (double)i / CORPUS_RATE_HZ));
    }
    assert_int_equal(corpus_microphone_apply(microphone, &tone, NULL), SL_OK);
    struct corpus_sound middle = {tone.samples + tone.n / 4, tone.n / 2};
    double gain = 20 * log10(corpus_sound_rms(&middle) / (0.5 / sqrt(2)) + 1e-9);
    free(tone.samples);
    return gain;
}

/* The telephone band of ITU-T G.712 is 300 to 3400 Hz; 8 kHz hold nothing above 4 kHz. */
static void a_phone_passes_the_telephone_band_and_no_more(void **state)
{
    (void)state;
    assert_float_equal((float)gain_db(CORPUS_MICROPHONE_PHONE, 1000), 0, 0.5F);
    assert_float_equal((float)gain_db(CORPUS_MICROPHONE_PHONE, 300), -3, 0.5F);
    assert_float_equal((float)gain_db(CORPUS_MICROPHONE_PHONE, 3400), -3, 0.7F);
    assert_true(gain_db(CORPUS_MICROPHONE_PHONE, 100) < -30);
    assert_true(gain_db(CORPUS_MICROPHONE_PHONE, 5000) < -50);
}

static void a_laptop_loses_the_lowest_and_the_highest(void **state)
{
    (void)state;
    assert_float_equal((float)gain_db(CORPUS_MICROPHONE_LAPTOP, 1000), 0, 0.5F);
    assert_true(gain_db(CORPUS_MICROPHONE_LAPTOP, 60) < -15);
    assert_true(gain_db(CORPUS_MICROPHONE_LAPTOP, 7500) < -6);
    assert_float_equal((float)gain_db(CORPUS_MICROPHONE_FLAT, 60), 0, 1e-3F);
}

static void noise_has_the_level_that_was_asked_for(void **state)
{
    (void)state;
    for (int kind = CORPUS_NOISE_NONE; kind <= CORPUS_NOISE_BABBLE; kind++) {
        struct corpus_rng rng;
        corpus_rng_init(&rng, 1);
        struct corpus_sound sound = new_sound(3);
        struct corpus_background background = {(enum corpus_noise)kind, {CORPUS_TUNE, NULL}, 0.05};
        assert_int_equal(corpus_room_noise(&rng, &background, &sound, NULL), SL_OK);
        assert_float_equal((float)corpus_sound_rms(&sound), 0.05F, 1e-4F);
        free(sound.samples);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reverberation_falls_as_fast_and_is_as_strong_as_asked),
        cmocka_unit_test(a_phone_passes_the_telephone_band_and_no_more),
        cmocka_unit_test(a_laptop_loses_the_lowest_and_the_highest),
        cmocka_unit_test(noise_has_the_level_that_was_asked_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
