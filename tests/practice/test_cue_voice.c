#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "practice/cue_voice.h"
#include "support/near.h"

static struct sl_cue_voice *open_voice(const char *pack, const char *name)
{
    struct sl_cue_voice *voice = NULL;
    struct sl_cue_voice_choice choice = {.pack = pack, .voice = name};
    assert_int_equal(sl_cue_voice_open(&choice, &voice, NULL), SL_OK);
    return voice;
}

static const struct sl_clip *clip_of(struct sl_cue_voice *voice, const char *text)
{
    const struct sl_clip *clip = NULL;
    assert_int_equal(sl_cue_voice_clip(voice, text, &clip, NULL), SL_OK);
    return clip;
}

static void what_the_pack_has_comes_from_it_and_the_rest_is_spoken(void **state)
{
    (void)state;
    struct sl_cue_voice *voice = open_voice(NULL, NULL);
    clip_of(voice, "Turn left. Ninety-seven metres.");
    assert_int_equal(sl_cue_voice_from_pack(voice), 1);
    assert_int_equal(sl_cue_voice_spoken(voice), 1);
    sl_cue_voice_close(voice);
}

static void sentences_are_joined_with_a_pause(void **state)
{
    (void)state;
    struct sl_cue_voice *voice = open_voice(NULL, NULL);
    size_t one = clip_of(voice, "Turn left.")->n;
    size_t two = clip_of(voice, "The view is open.")->n;
    const struct sl_clip *both = clip_of(voice, "Turn left. The view is open.");
    assert_int_equal(both->n, one + two + (size_t)(SL_SENTENCE_PAUSE_S * SL_CLIP_RATE_HZ));
    assert_near(sl_cue_voice_length_s(voice, "Turn left. The view is open."),
                (double)both->n / SL_CLIP_RATE_HZ, 1e-12);
    sl_cue_voice_close(voice);
}

static void a_text_is_made_once(void **state)
{
    (void)state;
    struct sl_cue_voice *voice = open_voice("none", NULL);
    const struct sl_clip *clip = clip_of(voice, "Line.");
    for (int i = 0; i < 50; i++) {
        char text[] = {'A', (char)('a' + i % 26), (char)('a' + i / 26), '.', '\0'};
        clip_of(voice, text);
    }
    assert_ptr_equal(clip_of(voice, "Line."), clip);
    assert_int_equal(sl_cue_voice_spoken(voice), 51);
    assert_int_equal(sl_cue_voice_from_pack(voice), 0);
    sl_cue_voice_close(voice);
}

static void what_is_spoken_is_as_loud_as_the_pack(void **state)
{
    (void)state;
    static const char *const voices[] = {"awb", "kal16", "rms", "slt"};
    for (size_t i = 0; i < sizeof voices / sizeof *voices; i++) {
        struct sl_cue_voice *voice = open_voice("none", voices[i]);
        struct sl_loudness loudness = {0};
        assert_int_equal(sl_clip_measure(clip_of(voice, "Ninety-seven metres."), &loudness, NULL),
                         SL_OK);
        assert_near(loudness.integrated_lufs, SL_LOUDNESS_TARGET_LUFS, SL_LOUDNESS_TOLERANCE_LU);
        assert_true(loudness.true_peak_dbtp <= SL_TRUE_PEAK_MAX_DBTP);
        sl_cue_voice_close(voice);
    }
}

/* The onset that the player places must be heard there: within 5 ms there is sound. */
static void a_clip_begins_where_it_is_heard_to_begin(void **state)
{
    (void)state;
    struct sl_cue_voice *voice = open_voice(NULL, NULL);
    static const char *const texts[] = {"Mirrors?", "Signal?", "Line.", "Fifty metres."};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        const struct sl_clip *clip = clip_of(voice, texts[i]);
        int highest = 0;
        for (size_t k = 0; k < 160; k++) { /* 10 ms */
            int value = clip->samples[k] < 0 ? -clip->samples[k] : clip->samples[k];
            highest = value > highest ? value : highest;
        }
        assert_true(highest > 60); /* -55 dBFS */
    }
    sl_cue_voice_close(voice);
}

static void what_does_not_exist_is_refused(void **state)
{
    (void)state;
    static const struct sl_cue_voice_choice rows[] = {
        {.pack = "no-such-pack"}, {.voice = "nobody"}, {.pack = "./nowhere", .voice = "awb"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_cue_voice *voice = NULL;
        struct sl_error error = {0};
        assert_int_equal(sl_cue_voice_open(&rows[i], &voice, &error), SL_NOT_FOUND);
        assert_non_null(error.mend);
        assert_null(voice);
        sl_error_clear(&error);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_the_pack_has_comes_from_it_and_the_rest_is_spoken),
        cmocka_unit_test(sentences_are_joined_with_a_pause),
        cmocka_unit_test(a_text_is_made_once),
        cmocka_unit_test(what_is_spoken_is_as_loud_as_the_pack),
        cmocka_unit_test(a_clip_begins_where_it_is_heard_to_begin),
        cmocka_unit_test(what_does_not_exist_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
