#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sound/clip.h"
#include "sound/tones.h"
#include "support/near.h"
#include "support/temp_folder.h"

/* Silence, then half a second of a tone, then silence. */
static struct sl_clip tone_in_silence(size_t before, size_t after, double amplitude)
{
    enum { TONE = 8000 };
    struct sl_clip clip = {0};
    static int16_t tone[TONE];
    for (size_t i = 0; i < TONE; i++) {
        tone[i] = (int16_t)lround(amplitude * 32767 * tone_at(1000, SL_CLIP_RATE_HZ, i));
    }
    assert_int_equal(sl_clip_append(&clip, NULL, before, NULL), SL_OK);
    assert_int_equal(sl_clip_append(&clip, tone, TONE, NULL), SL_OK);
    assert_int_equal(sl_clip_append(&clip, NULL, after, NULL), SL_OK);
    return clip;
}

static void silence_at_the_ends_is_cut_off(void **state)
{
    (void)state;
    struct sl_clip clip = tone_in_silence(9600, 4000, 0.3);
    sl_clip_trim(&clip);
    /* 5 ms in front, half a second of tone, 20 ms behind; the tone's own zeros may go. */
    assert_in_range(clip.n, 8000 + 80 + 320 - 4, 8000 + 80 + 320 + 4);
    sl_clip_clear(&clip);
}

static void noise_at_the_ends_is_cut_off_too(void **state)
{
    (void)state;
    struct sl_clip clip = tone_in_silence(9600, 4000, 0.3);
    for (size_t i = 0; i < clip.n; i++) {
        clip.samples[i] = (int16_t)(clip.samples[i] + (int)(i * 7919 % 21) - 10); /* -70 dBFS */
    }
    sl_clip_trim(&clip);
    assert_in_range(clip.n, 8000, 8000 + 400 + 10);
    sl_clip_clear(&clip);
}

static void silence_alone_stays(void **state)
{
    (void)state;
    struct sl_clip clip = {0};
    assert_int_equal(sl_clip_append(&clip, NULL, 500, NULL), SL_OK);
    sl_clip_trim(&clip);
    assert_int_equal(clip.n, 500);
    struct sl_loudness loudness;
    assert_int_equal(sl_clip_normalise(&clip, &loudness, NULL), SL_INVALID);
    sl_clip_clear(&clip);
}

static void quiet_and_loud_clips_come_to_the_target(void **state)
{
    (void)state;
    static const double amplitudes[] = {0.003, 0.05, 0.4, 0.99};
    for (size_t i = 0; i < sizeof amplitudes / sizeof *amplitudes; i++) {
        struct sl_clip clip = tone_in_silence(0, 0, amplitudes[i]);
        struct sl_loudness loudness = {0};
        assert_int_equal(sl_clip_normalise(&clip, &loudness, NULL), SL_OK);
        assert_near(loudness.integrated_lufs, SL_LOUDNESS_TARGET_LUFS, 0.1);
        assert_true(loudness.true_peak_dbtp <= SL_TRUE_PEAK_MAX_DBTP);
        sl_clip_clear(&clip);
    }
}

/* Clicks: hardly any loudness and high peaks. */
static void the_peak_goes_before_the_loudness(void **state)
{
    (void)state;
    struct sl_clip clip = {0};
    assert_int_equal(sl_clip_append(&clip, NULL, 16000, NULL), SL_OK);
    for (size_t i = 0; i < clip.n; i += 1600) {
        clip.samples[i] = 3000;
    }
    struct sl_loudness loudness = {0};
    assert_int_equal(sl_clip_normalise(&clip, &loudness, NULL), SL_OK);
    assert_true(loudness.true_peak_dbtp <= SL_TRUE_PEAK_MAX_DBTP);
    assert_true(loudness.true_peak_dbtp > SL_TRUE_PEAK_MAX_DBTP - 1);
    assert_true(loudness.integrated_lufs < SL_LOUDNESS_TARGET_LUFS);
    sl_clip_clear(&clip);
}

static void a_saved_clip_is_loaded_sample_for_sample(void **state)
{
    (void)state;
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "clip.flac", path);
    struct sl_clip clip = tone_in_silence(100, 50, 0.2);
    struct sl_clip again = {0};
    assert_int_equal(sl_clip_save(path, &clip, NULL), SL_OK);
    assert_int_equal(sl_clip_load(path, &again, NULL), SL_OK);
    assert_int_equal(again.n, clip.n);
    assert_memory_equal(again.samples, clip.samples, clip.n * sizeof *clip.samples);
    sl_clip_clear(&clip);
    sl_clip_clear(&again);
    temp_folder_remove(&folder);
}

static void what_is_too_long_is_refused(void **state)
{
    (void)state;
    struct sl_clip clip = {0};
    assert_int_equal(sl_clip_append(&clip, NULL, 30 * SL_CLIP_RATE_HZ, NULL), SL_OK);
    assert_near(sl_clip_length_s(&clip), 30, 1e-12);
    assert_int_equal(sl_clip_append(&clip, NULL, 1, NULL), SL_TOO_LARGE);
    assert_int_equal(clip.n, 30 * SL_CLIP_RATE_HZ);
    sl_clip_clear(&clip);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(silence_at_the_ends_is_cut_off),
        cmocka_unit_test(noise_at_the_ends_is_cut_off_too),
        cmocka_unit_test(silence_alone_stays),
        cmocka_unit_test(quiet_and_loud_clips_come_to_the_target),
        cmocka_unit_test(the_peak_goes_before_the_loudness),
        cmocka_unit_test(a_saved_clip_is_loaded_sample_for_sample),
        cmocka_unit_test(what_is_too_long_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
