#include "sound/speak.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define SENTENCE "Interior mirror, left mirror. No signal. Down to ten miles an hour."

static struct sl_spoken speak(const char *voice, double stretch, double pitch)
{
    struct sl_spoken spoken = {0};
    struct sl_manner manner = {stretch, pitch};
    assert_int_equal(sl_speak(voice, SENTENCE, &manner, &spoken, NULL), SL_OK);
    return spoken;
}

#define WINDOW 512

/* Likeness of a stretch of sound to itself `lag` later, -1 to 1. */
static double likeness(const int16_t *at, size_t lag)
{
    double product = 0;
    double here = 1;
    double there = 1;
    for (size_t i = 0; i < WINDOW; i++) {
        product += (double)at[i] * at[i + lag];
        here += (double)at[i] * at[i];
        there += (double)at[i + lag] * at[i + lag];
    }
    return product / sqrt(here * there);
}

static int compare(const void *a, const void *b)
{
    const double *x = a;
    const double *y = b;
    return (*x > *y) - (*x < *y);
}

/* Median pitch in Hz of the voiced stretches, by autocorrelation between 60 and 350 Hz. */
static double pitch_hz(const struct sl_spoken *spoken)
{
    double found[4096] = {0};
    size_t n = 0;
    size_t longest = (size_t)spoken->rate_hz / 60;
    for (size_t at = 0; at + WINDOW + longest < spoken->n_samples && n < 4096; at += 320) {
        double best = 0.7;
        size_t best_lag = 0;
        for (size_t lag = (size_t)spoken->rate_hz / 350; lag < longest; lag++) {
            double like = likeness(spoken->samples + at, lag);
            if (like > best) {
                best = like;
                best_lag = lag;
            }
        }
        if (best_lag > 0 && abs(spoken->samples[at]) > 300) {
            found[n++] = (double)spoken->rate_hz / (double)best_lag;
        }
    }
    assert_true(n > 20);
    qsort(found, n, sizeof found[0], compare);
    return found[n / 2];
}

static void every_voice_speaks(void **state)
{
    (void)state;
    size_t n_voices = 0;
    for (const char *const *voice = sl_voices(); *voice != NULL; voice++, n_voices++) {
        struct sl_spoken spoken = speak(*voice, 0, 0);
        assert_int_equal(spoken.rate_hz, 16000);
        double length_s = (double)spoken.n_samples / spoken.rate_hz;
        assert_true(length_s > 3 && length_s < 7);
        free(spoken.samples);
    }
    assert_int_equal(n_voices, 4);
}

static void a_stretched_voice_takes_that_much_longer(void **state)
{
    (void)state;
    for (const char *const *voice = sl_voices(); *voice != NULL; voice++) {
        struct sl_spoken plain = speak(*voice, 1, 1);
        struct sl_spoken slow = speak(*voice, 1.2, 1);
        assert_float_equal((float)slow.n_samples / (float)plain.n_samples, 1.2F, 0.03F);
        free(plain.samples);
        free(slow.samples);
    }
}

static void a_raised_voice_is_that_much_higher(void **state)
{
    (void)state;
    for (const char *const *voice = sl_voices(); *voice != NULL; voice++) {
        struct sl_spoken plain = speak(*voice, 1, 1);
        struct sl_spoken high = speak(*voice, 1, 1.2);
        struct sl_spoken low = speak(*voice, 1, 0.85);
        double hz = pitch_hz(&plain);
        assert_float_equal((float)(pitch_hz(&high) / hz), 1.2F, 0.08F);
        assert_float_equal((float)(pitch_hz(&low) / hz), 0.85F, 0.08F);
        free(plain.samples);
        free(high.samples);
        free(low.samples);
    }
}

static void the_same_words_sound_the_same_whatever_came_before(void **state)
{
    (void)state;
    for (const char *const *voice = sl_voices(); *voice != NULL; voice++) {
        struct sl_spoken first = speak(*voice, 1, 1);
        struct sl_spoken other = speak(*voice, 0.9, 1.1);
        struct sl_spoken again = speak(*voice, 0, 0);
        assert_int_equal(first.n_samples, again.n_samples);
        assert_memory_equal(first.samples, again.samples,
                            first.n_samples * sizeof first.samples[0]);
        free(first.samples);
        free(other.samples);
        free(again.samples);
    }
}

/* Root mean square of samples from `from` to `to`. */
static double rms(const struct sl_spoken *spoken, size_t from, size_t to)
{
    double sum = 0;
    for (size_t i = from; i < to; i++) {
        sum += (double)spoken->samples[i] * spoken->samples[i];
    }
    return to > from ? sqrt(sum / (double)(to - from)) : 0;
}

static void silence_is_around_the_speech_and_not_in_it(void **state)
{
    (void)state;
    for (const char *const *voice = sl_voices(); *voice != NULL; voice++) {
        struct sl_spoken spoken = speak(*voice, 0, 0);
        assert_true(spoken.speech_from > 800 && spoken.speech_to < spoken.n_samples);
        double first = rms(&spoken, spoken.speech_from, spoken.speech_from + 1600);
        double last = rms(&spoken, spoken.speech_to - 1600, spoken.speech_to);
        /* At least 20 dB between them. */
        assert_true(first > 10 * rms(&spoken, 0, spoken.speech_from - 160));
        assert_true(last > 10 * rms(&spoken, spoken.speech_to + 800, spoken.n_samples));
        free(spoken.samples);
    }
}

static void an_unknown_voice_is_refused_with_the_known_ones(void **state)
{
    (void)state;
    struct sl_spoken spoken = {0};
    struct sl_error error = {0};
    assert_int_equal(sl_speak("nobody", "go", NULL, &spoken, &error), SL_NOT_FOUND);
    assert_non_null(strstr(error.what, "nobody"));
    assert_non_null(strstr(error.mend, "slt"));
    assert_null(spoken.samples);
    sl_error_clear(&error);
}

static void a_manner_that_nobody_has_is_refused(void **state)
{
    (void)state;
    static const struct sl_manner rows[] = {{-1, 1}, {1, -1},  {0.01, 1},
                                            {1, 90}, {NAN, 1}, {1, INFINITY}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sl_spoken spoken = {0};
        assert_int_equal(sl_speak("slt", "go", &rows[i], &spoken, NULL), SL_INVALID);
        assert_null(spoken.samples);
    }
}

static void words_without_a_sound_are_no_crash(void **state)
{
    (void)state;
    static const char *const texts[] = {"", " ", "...", "\x01\x02", "\xff\xfe", "7", "(){}[]|\\"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct sl_spoken spoken = {0};
        enum sl_status status = sl_speak("kal16", texts[i], NULL, &spoken, NULL);
        assert_true((status == SL_OK && spoken.n_samples > 0) ||
                    (status == SL_UNSUPPORTED && spoken.samples == NULL));
        free(spoken.samples);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_voice_speaks),
        cmocka_unit_test(a_stretched_voice_takes_that_much_longer),
        cmocka_unit_test(a_raised_voice_is_that_much_higher),
        cmocka_unit_test(the_same_words_sound_the_same_whatever_came_before),
        cmocka_unit_test(silence_is_around_the_speech_and_not_in_it),
        cmocka_unit_test(an_unknown_voice_is_refused_with_the_known_ones),
        cmocka_unit_test(a_manner_that_nobody_has_is_refused),
        cmocka_unit_test(words_without_a_sound_are_no_crash),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
