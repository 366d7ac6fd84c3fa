#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/activity.h"
#include "speech/decoder.h"
#include "speech/dither.h"
#include "support/near.h"
#include "support/random.h"

#include <math.h>
#include <stdlib.h>

#define RATE 16000
#define MARGIN_S 0.1

struct sound {
    int16_t samples[20 * RATE];
    size_t n;
    uint64_t random;
};

static struct sound *new_sound(void)
{
    struct sound *sound = calloc(1, sizeof *sound);
    assert_non_null(sound);
    sound->random = 3;
    return sound;
}

/* Evenly spread values up to `peak`: their level is 20 log10(peak / 32768 / sqrt 3). */
static void add(struct sound *sound, double seconds, double peak)
{
    size_t end = sound->n + (size_t)lround(seconds * RATE);
    assert_true(end <= sizeof sound->samples / sizeof *sound->samples);
    for (; sound->n < end; sound->n++) {
        sound->samples[sound->n] = (int16_t)lrint(peak * (2 * random_share(&sound->random) - 1));
    }
}

static struct sl_activity measure(struct sound *sound)
{
    struct sl_activity activity = {0};
    sl_dither_copy(sound->samples, sound->samples, sound->n, 0);
    assert_int_equal(sl_activity_measure(sound->samples, sound->n, MARGIN_S, &activity, NULL),
                     SL_OK);
    return activity;
}

static void speech_is_what_stands_out_and_a_margin_around_it(void **state)
{
    (void)state;
    struct sound *sound = new_sound();
    add(sound, 1, 100);
    add(sound, 1, 3000);
    add(sound, 1, 100);
    struct sl_activity activity = measure(sound);
    assert_near(activity.noise_db, 20 * log10(100 / 32768.0 / sqrt(3)), 1);
    assert_near(activity.speech_db, 20 * log10(3000 / 32768.0 / sqrt(3)), 1);
    assert_near(activity.snr_db, 10 * log10(899), 1.5);
    for (size_t f = 0; f < 300; f++) {
        assert_int_equal(activity.speech[f], f >= 90 && f < 210);
        assert_int_equal(sl_activity_loud(&activity, f), f >= 100 && f < 200);
        assert_int_equal(activity.noise[f], !activity.speech[f]);
    }
    sl_activity_clear(&activity);
    free(sound);
}

/* As a run with cues leaves it: the announcement is muted. */
static void a_muted_stretch_is_no_noise_of_the_room(void **state)
{
    (void)state;
    struct sound *sound = new_sound();
    add(sound, 8, 0);
    add(sound, 1, 300);
    add(sound, 1, 3000);
    add(sound, 0.3, 0); /* too short to be muted */
    add(sound, 1, 300);
    struct sl_activity activity = measure(sound);
    assert_near(activity.noise_db, 20 * log10(300 / 32768.0 / sqrt(3)), 1);
    assert_near(activity.snr_db, 10 * log10(99), 1.5);
    for (size_t f = 0; f < activity.n_frames - 1; f++) {
        assert_int_equal(activity.noise[f], f >= 800 && !activity.speech[f]);
    }
    sl_activity_clear(&activity);
    free(sound);
}

/* As many people talking: no pause is as long as the margins on its sides. */
static void noise_that_swells_like_voices_is_known_from_its_quiet_moments(void **state)
{
    (void)state;
    struct sound *sound = new_sound();
    for (int i = 0; i < 20; i++) {
        add(sound, 0.1, 300);
        add(sound, 0.1, 3000);
    }
    struct sl_activity activity = measure(sound);
    for (size_t f = 0; f < 400; f++) {
        assert_true(activity.speech[f]);
        assert_int_equal(activity.noise[f], f % 20 < 10);
    }
    sl_activity_clear(&activity);
    free(sound);
}

static void of_nothing_but_zeros_the_dither_is_measured(void **state)
{
    (void)state;
    struct sound *sound = new_sound();
    add(sound, 2, 0);
    struct sl_activity activity = measure(sound);
    /* whole numbers from -2 to 2 have the mean square 2 */
    assert_near(activity.noise_db, 20 * log10(sqrt(2) / 32768), 1.5);
    assert_false(activity.noise[0] || activity.noise[100]);
    sl_activity_clear(&activity);
    free(sound);
}

static void a_phrase_begins_with_its_voice(void **state)
{
    (void)state;
    struct sound *sound = new_sound();
    add(sound, 1, 100);
    add(sound, 0.02, 3000); /* a knock */
    add(sound, 0.48, 100);
    add(sound, 1, 3000); /* from frame 150 */
    add(sound, 1, 100);
    struct sl_activity activity = measure(sound);
    assert_int_equal(sl_activity_onset(&activity, 120, 250), 147);
    assert_int_equal(sl_activity_onset(&activity, 95, 250), 147);  /* the knock is no voice */
    assert_int_equal(sl_activity_onset(&activity, 135, 250), 135); /* so long may an s be */
    assert_int_equal(sl_activity_onset(&activity, 160, 250), 160);
    assert_int_equal(sl_activity_onset(&activity, 80, 250), 80);   /* too far off */
    assert_int_equal(sl_activity_onset(&activity, 120, 145), 120); /* nowhere loud */
    assert_int_equal(sl_activity_onset(&activity, 295, 400), 295); /* and past the end */
    sl_activity_clear(&activity);
    free(sound);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(speech_is_what_stands_out_and_a_margin_around_it),
        cmocka_unit_test(a_phrase_begins_with_its_voice),
        cmocka_unit_test(a_muted_stretch_is_no_noise_of_the_room),
        cmocka_unit_test(noise_that_swells_like_voices_is_known_from_its_quiet_moments),
        cmocka_unit_test(of_nothing_but_zeros_the_dither_is_measured),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
