#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "practice/cue_pack.h"
#include "practice/cue_recorder.h"
#include "practice/cue_voice.h"
#include "sound/endpoint_simulated.h"
#include "support/near.h"

#define RATE SL_CLIP_RATE_HZ

/* Silence of a quiet room, then the voice at a gain, then the room again. */
static struct sl_clip room_with(const char *text, double before_s, double gain, double noise)
{
    struct sl_clip sound = {0};
    struct sl_clip voice = {0};
    assert_int_equal(sl_clip_append(&sound, NULL, (size_t)(before_s * RATE), NULL), SL_OK);
    if (text != NULL) {
        assert_int_equal(sl_speak_clip("awb", text, &voice, NULL), SL_OK);
        for (size_t i = 0; i < voice.n; i++) {
            double value = voice.samples[i] * gain;
            voice.samples[i] = (int16_t)fmax(fmin(value, INT16_MAX), INT16_MIN);
        }
        assert_int_equal(sl_clip_append(&sound, voice.samples, voice.n, NULL), SL_OK);
    }
    assert_int_equal(sl_clip_append(&sound, NULL, 2 * RATE, NULL), SL_OK);
    for (size_t i = 0; i < sound.n; i++) {
        double value = sound.samples[i] + noise * ((double)(i * 7919 % 2001) / 1000 - 1);
        sound.samples[i] = (int16_t)fmax(fmin(value, INT16_MAX), INT16_MIN);
    }
    sl_clip_clear(&voice);
    return sound;
}

static struct sl_endpoint microphone(const struct sl_clip *sound, uint64_t gone_at)
{
    struct sl_endpoint endpoint = {0};
    struct sl_simulation simulation = {
        .signal = sound->samples, .n_signal = sound->n, .gone_at = gone_at};
    assert_int_equal(sl_endpoint_simulated_open(&simulation, &endpoint, NULL), SL_OK);
    assert_int_equal(sl_endpoint_start(&endpoint, NULL), SL_OK);
    return endpoint;
}

static const struct {
    const char *name, *text;
    double gain, noise;
    unsigned flaws;
} rows[] = {
    {"a good take", "Turn left.", 1.0, 10, 0},
    {"a loud take", "Turn left.", 2.0, 10, 0},
    {"clipped", "Turn left.", 12, 10, SL_CUE_CLIPPED},
    {"hardly to be heard", "Turn left.", 0.03, 1, SL_CUE_TOO_QUIET},
    {"nobody speaks", NULL, 0, 10, SL_CUE_SILENT},
};

static void a_take_is_cut_to_the_speech_and_brought_to_the_level(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_take take = {0};
        struct sl_clip sound = room_with(rows[i].text, 1.3, rows[i].gain, rows[i].noise);
        struct sl_endpoint endpoint = microphone(&sound, 0);
        assert_int_equal(sl_take_record(&endpoint, "Turn left.", &take, NULL), SL_OK);
        if (take.flaws != rows[i].flaws) {
            fail_msg("%s: flaws %u", rows[i].name, take.flaws);
        }
        if (rows[i].flaws == 0) {
            struct sl_clip spoken = {0};
            assert_int_equal(sl_speak_clip("awb", rows[i].text, &spoken, NULL), SL_OK);
            assert_near(sl_clip_length_s(&take.clip), sl_clip_length_s(&spoken), 0.2);
            assert_near(take.loudness.integrated_lufs, SL_LOUDNESS_TARGET_LUFS, 0.1);
            sl_clip_clear(&spoken);
        }
        sl_take_clear(&take);
        sl_endpoint_close(&endpoint);
        sl_clip_clear(&sound);
    }
}

static void a_second_of_other_words_is_too_long_for_one(void **state)
{
    (void)state;
    struct sl_take take = {0};
    struct sl_clip sound = room_with("Two hundred and forty metres from the line.", 0.2, 1, 10);
    assert_int_equal(sl_take_finish(&sound, "Line.", &take, NULL), SL_OK);
    assert_int_equal(take.flaws, SL_CUE_TOO_LONG);
    sl_take_clear(&take);
    sl_clip_clear(&sound);
}

static void a_noisy_room_is_noticed(void **state)
{
    (void)state;
    struct sl_take take = {0};
    struct sl_clip sound = room_with("Turn left.", 1, 1, 2500);
    assert_int_equal(sl_take_finish(&sound, "Turn left.", &take, NULL), SL_OK);
    assert_true((take.flaws & SL_CUE_NOISY) != 0);
    sl_take_clear(&take);
    sl_clip_clear(&sound);
}

/* The second take begins after the first, in the same stream. */
static void two_takes_follow_one_another(void **state)
{
    (void)state;
    struct sl_take take = {0};
    struct sl_clip sound = room_with("Turn left.", 0.5, 1, 10);
    struct sl_clip second = room_with("Line.", 0.5, 1, 10);
    assert_int_equal(sl_clip_append(&sound, second.samples, second.n, NULL), SL_OK);
    struct sl_endpoint endpoint = microphone(&sound, 0);
    assert_int_equal(sl_take_record(&endpoint, "Turn left.", &take, NULL), SL_OK);
    double first_s = sl_clip_length_s(&take.clip);
    assert_int_equal(sl_take_record(&endpoint, "Line.", &take, NULL), SL_OK);
    assert_int_equal(take.flaws, 0);
    assert_true(sl_clip_length_s(&take.clip) < first_s);
    sl_take_clear(&take);
    sl_endpoint_close(&endpoint);
    sl_clip_clear(&sound);
    sl_clip_clear(&second);
}

static void a_microphone_that_goes_away_is_an_error(void **state)
{
    (void)state;
    struct sl_take take = {0};
    struct sl_error error = {0};
    struct sl_clip sound = room_with("Turn left.", 1, 1, 10);
    struct sl_endpoint endpoint = microphone(&sound, RATE / 2);
    assert_int_equal(sl_take_record(&endpoint, "Turn left.", &take, &error), SL_DEVICE);
    assert_non_null(error.mend);
    sl_error_clear(&error);
    sl_endpoint_close(&endpoint);
    sl_clip_clear(&sound);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_take_is_cut_to_the_speech_and_brought_to_the_level),
        cmocka_unit_test(a_second_of_other_words_is_too_long_for_one),
        cmocka_unit_test(a_noisy_room_is_noticed),
        cmocka_unit_test(two_takes_follow_one_another),
        cmocka_unit_test(a_microphone_that_goes_away_is_an_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
