/*
 * Speakers: the split, and the voices of festival where it is installed.
 */
#include "voice.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define DRAWS 200

/* Starts festival, or skips the test where it is not installed (tests/run.sh installs it). */
static struct corpus_festival *start_festival(void)
{
    struct corpus_festival *festival = NULL;
    struct sl_error error = {0};
    enum sl_status status = corpus_festival_start(&festival, &error);
    if (status != SL_OK) {
        print_message("skipped: %s: %s\n", error.what, error.mend);
        assert_int_equal(status, SL_NOT_FOUND);
        sl_error_clear(&error);
        skip();
    }
    return festival;
}

/* Who lent the voice: "kal16", "kal" and "festival-kal" are one person. */
static const char *person_of(const char *base)
{
    static const char *const people[] = {"kal", "slt", "awb", "rms", "ked"};
    for (size_t i = 0; i < sizeof people / sizeof people[0]; i++) {
        if (strstr(base, people[i]) != NULL) {
            return people[i];
        }
    }
    fail_msg("%s is nobody", base);
    return NULL;
}

static void check_split(enum corpus_split split, struct corpus_festival *festival,
                        const char *allowed, size_t n_voices)
{
    struct corpus_speakers speakers = {split, festival};
    struct corpus_rng rng;
    corpus_rng_init(&rng, 1);
    const char *seen[DRAWS] = {0};
    size_t n_seen = 0;
    for (size_t i = 0; i < DRAWS; i++) {
        struct corpus_voice voice = corpus_voice_draw(&rng, &speakers);
        assert_non_null(strstr(allowed, person_of(voice.base)));
        size_t k = 0;
        while (k < n_seen && strcmp(seen[k], voice.base) != 0) {
            k++;
        }
        seen[k] = voice.base;
        n_seen += k == n_seen ? 1 : 0;
    }
    assert_int_equal(n_seen, n_voices);
}

static void nobody_is_in_both_splits(void **state)
{
    (void)state;
    check_split(CORPUS_TUNE, NULL, "kal slt", 3);
    check_split(CORPUS_JUDGE, NULL, "awb rms", 2);
}

static void festival_adds_voices_but_nobody_to_both(void **state)
{
    (void)state;
    struct corpus_festival *festival = start_festival();
    check_split(CORPUS_TUNE, festival, "kal slt", 5);
    check_split(CORPUS_JUDGE, festival, "awb rms ked", 3);
    corpus_festival_stop(festival);
}

static struct sl_spoken say(struct corpus_festival *festival, const char *voice, double stretch,
                            double pitch)
{
    struct sl_manner manner = {stretch, pitch};
    struct sl_spoken spoken = {0};
    struct sl_error error = {0};
    const char *text = "Mirrors, \"signal\", speed, gear; then we roll along slowly.";
    if (corpus_festival_speak(festival, voice, text, &manner, &spoken, &error) != SL_OK) {
        fail_msg("%s: %s", voice, error.what);
    }
    assert_true(spoken.speech_from < spoken.speech_to && spoken.speech_to <= spoken.n_samples);
    return spoken;
}

/* Median pitch of voiced frames, by autocorrelation. */
static double pitch_hz(const struct sl_spoken *spoken)
{
    size_t counts[300] = {0};
    size_t n = 0;
    for (size_t at = spoken->speech_from; at + 1280 < spoken->speech_to; at += 320) {
        double most = 0;
        double energy = 0;
        size_t best = 0;
        for (size_t lag = 50; lag < 300; lag++) {
            double sum = 0;
            energy = 0;
            for (size_t i = at; i < at + 800; i++) {
                sum += (double)spoken->samples[i] * spoken->samples[i + lag];
                energy += (double)spoken->samples[i] * spoken->samples[i];
            }
            if (sum > most) {
                most = sum;
                best = lag;
            }
        }
        if (most > 0.6 * energy && energy > 800.0 * 300 * 300) {
            counts[best]++;
            n++;
        }
    }
    assert_true(n > 10);
    size_t lag = 0;
    for (size_t below = 0; 2 * below < n; lag++) {
        below += counts[lag];
    }
    return (double)spoken->rate_hz / (double)(lag - 1);
}

static void voices_of_festival_take_pace_and_pitch(void **state)
{
    (void)state;
    static const char *const voices[] = {"festival-kal", "festival-ked", "festival-slt"};
    struct corpus_festival *festival = start_festival();
    for (size_t i = 0; i < 3; i++) {
        struct sl_spoken plain = say(festival, voices[i], 1, 1);
        struct sl_spoken slow = say(festival, voices[i], 1.25, 1);
        double shift = corpus_festival_shifts(voices[i]) ? 1.15 : 1;
        struct sl_spoken high = say(festival, voices[i], 1, shift);
        struct sl_spoken again = say(festival, voices[i], 1, 1);
        double ratio = (double)(slow.speech_to - slow.speech_from) /
                       (double)(plain.speech_to - plain.speech_from);
        assert_true(fabs(ratio - 1.25) < 0.06);
        assert_true(fabs(pitch_hz(&high) / pitch_hz(&plain) - shift) < 0.05);
        assert_int_equal(again.n_samples, plain.n_samples);
        assert_memory_equal(again.samples, plain.samples, plain.n_samples * sizeof(int16_t));
        free(plain.samples);
        free(slow.samples);
        free(high.samples);
        free(again.samples);
    }
    corpus_festival_stop(festival);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nobody_is_in_both_splits),
        cmocka_unit_test(festival_adds_voices_but_nobody_to_both),
        cmocka_unit_test(voices_of_festival_take_pace_and_pitch),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
