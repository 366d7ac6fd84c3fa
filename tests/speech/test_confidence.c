#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/confidence.h"
#include "speech/recogniser.h"
#include "support/near.h"

#include <math.h>

#define N_FRAMES ((size_t)150)

/* 50 frames of the loop, a word of 50, 50 of the loop. */
static struct sl_evidence evidence_with(const struct sl_activity *activity)
{
    struct sl_segment items[] = {
        {.kind = SL_SEGMENT_PHONE, .n_frames = 50, .score = -50},
        {.kind = SL_SEGMENT_WORD, .start_frame = 50, .n_frames = 50, .score = -100},
        {.kind = SL_SEGMENT_PHONE, .start_frame = 100, .n_frames = 50, .score = -50},
    };
    const struct sl_segments segments = {.items = items, .count = 3};
    const struct sl_span span = {
        .first_segment = 1, .n_segments = 1, .n_words = 1, .start_frame = 50, .end_frame = 100};
    return sl_evidence_of(&span, &segments, activity, 20);
}

static void other_speech_is_what_is_loud(void **state)
{
    (void)state;
    float level_db[N_FRAMES];
    for (size_t f = 0; f < N_FRAMES; f++) {
        level_db[f] = f >= 30 && f < 110 ? -20 : -60; /* 20 frames before it and 10 behind it */
    }
    const struct sl_activity activity = {
        .level_db = level_db, .n_frames = N_FRAMES, .noise_db = -60, .speech_db = -20};
    assert_near(evidence_with(NULL).stray_s, 1.0, 1e-9);
    assert_false(evidence_with(NULL).fitted);
    struct sl_evidence evidence = evidence_with(&activity);
    assert_near(evidence.stray_s, 0.3, 1e-9);
    assert_true(evidence.fitted);
    assert_near(evidence.score, -2, 1e-9); /* 100 nats over 50 frames */
    assert_near(evidence.word_s, 0.5, 1e-9);
}

static double confidence(bool fitted, double snr_db, double stray_s)
{
    const struct sl_recogniser_settings settings = sl_recogniser_defaults();
    const struct sl_evidence evidence = {.score = -4,
                                         .worst_score = -6,
                                         .word_s = 0.5,
                                         .stray_s = stray_s,
                                         .snr_db = snr_db,
                                         .fitted = fitted,
                                         .twin_margin = INFINITY};
    return sl_confidence(&evidence, &settings);
}

static void other_speech_lowers_confidence_unless_noise_drowns_it(void **state)
{
    (void)state;
    assert_true(confidence(false, 40, 0.5) < confidence(false, 40, 0) - 0.1);
    assert_true(confidence(true, 26, 0.5) < confidence(true, 26, 0) - 0.1);
    assert_true(confidence(true, 18, 0.5) > confidence(true, 26, 0.5) + 0.05);
    assert_near(confidence(true, 9, 2), confidence(true, 9, 0), 1e-12);
    assert_near(confidence(true, 5, 2), confidence(true, 5, 0), 1e-12);
}

static void a_phrase_is_no_surer_than_that_it_was_not_its_twin(void **state)
{
    (void)state;
    const struct sl_recogniser_settings settings = sl_recogniser_defaults();
    struct sl_evidence evidence = {.word_s = 1, .snr_db = 40, .twin_margin = INFINITY};
    assert_true(sl_confidence(&evidence, &settings) > 0.9);
    evidence.twin_margin = settings.twin_even_nats;
    assert_near(sl_confidence(&evidence, &settings), 0.5, 1e-12);
}

static void a_known_speaker_is_surer_and_in_noise_a_little_less(void **state)
{
    (void)state;
    const struct sl_recogniser_settings settings = sl_recogniser_defaults();
    struct sl_evidence evidence = {
        .score = -5, .worst_score = -7, .word_s = 0.5, .snr_db = 40, .twin_margin = INFINITY};
    double unknown = sl_confidence(&evidence, &settings);
    evidence.adapted = true;
    double clean = sl_confidence(&evidence, &settings);
    evidence.fitted = true;
    double noisy = sl_confidence(&evidence, &settings);
    assert_true(unknown < noisy - 0.05);
    assert_true(noisy < clean - 0.02);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(other_speech_is_what_is_loud),
        cmocka_unit_test(other_speech_lowers_confidence_unless_noise_drowns_it),
        cmocka_unit_test(a_phrase_is_no_surer_than_that_it_was_not_its_twin),
        cmocka_unit_test(a_known_speaker_is_surer_and_in_noise_a_little_less),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
