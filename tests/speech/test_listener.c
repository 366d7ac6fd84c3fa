#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/hand_book.h"
#include "speech/spoken.h"

#include "speech/listener.h"

#include <math.h>

#define BLOCK 320

static struct sl_routine routine;
static char *pronunciations;

static struct sl_listener *fresh(const struct sl_voice *voice)
{
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    struct sl_listener_setup setup = {.paths = &paths, .voice = voice};
    struct sl_listener *listener = NULL;
    assert_int_equal(sl_listener_new(&routine, &setup, &listener, NULL), SL_OK);
    return listener;
}

static int set_up(void **state)
{
    (void)state;
    routine = hand_routine();
    pronunciations = hand_pronunciation_file("listener.dict");
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    (void)remove(pronunciations);
    free(pronunciations);
    hand_clear(&routine);
    return 0;
}

static void hear(struct sl_listener *listener, const struct sound *sound, size_t block,
                 struct sl_heard_list *heard)
{
    for (size_t at = 0; at < sound->n; at += block) {
        size_t n = sound->n - at < block ? sound->n - at : block;
        assert_int_equal(sl_listener_feed(listener, sound->samples + at, n, heard, NULL), SL_OK);
    }
    assert_int_equal(sl_listener_finish(listener, heard, NULL), SL_OK);
}

static const struct {
    size_t phase;
    const char *text;
} said[] = {
    {MIRRORS, "interior mirror left mirror"}, {SIGNAL, "signal left"}, {SPEED, "slow down to ten"},
    {GEAR, "second gear clutch up"},          {DECIDE, "clear going"},
};
enum { N_SAID = sizeof said / sizeof *said };

static struct sound a_run(double starts_s[N_SAID])
{
    struct sound sound = {0};
    add_noise(&sound, 0.5, 10);
    for (size_t i = 0; i < N_SAID; i++) {
        starts_s[i] = say(&sound, said[i].text);
    }
    return sound;
}

static void what_is_said_is_heard_at_its_time(void **state)
{
    (void)state;
    double starts_s[N_SAID];
    struct sound sound = a_run(starts_s);
    struct sl_listener *listener = fresh(NULL);
    for (int time = 0; time < 2; time++) { /* twice: it is ready for another sound */
        struct sl_heard_list heard = {0};
        hear(listener, &sound, BLOCK, &heard);
        sl_listener_drop_replaced(&heard);
        assert_int_equal(heard.count, N_SAID);
        for (size_t i = 0; i < N_SAID; i++) {
            assert_int_equal(heard.items[i].phase, said[i].phase);
            assert_string_equal(heard.items[i].text, said[i].text);
            assert_false(heard.items[i].unclear);
            assert_float_equal(heard.items[i].start_s, starts_s[i], 0.1);
        }
        sl_heard_clear(&heard);
    }
    assert_false(sl_listener_speaking(listener));
    sl_listener_free(listener);
    free(sound.samples);
}

static void the_size_of_blocks_changes_nothing(void **state)
{
    static const size_t blocks[] = {1, 159, 1024, 1 << 20};
    (void)state;
    double starts_s[N_SAID];
    struct sound sound = a_run(starts_s);
    struct sl_heard_list wanted = {0};
    struct sl_listener *first = fresh(NULL);
    hear(first, &sound, BLOCK, &wanted);
    sl_listener_free(first);
    assert_true(wanted.count >= N_SAID);
    for (size_t i = 0; i < sizeof blocks / sizeof *blocks; i++) {
        struct sl_listener *listener = fresh(NULL);
        struct sl_heard_list heard = {0};
        hear(listener, &sound, blocks[i], &heard);
        assert_same(&heard, &wanted);
        sl_heard_clear(&heard);
        sl_listener_free(listener);
    }
    sl_heard_clear(&wanted);
    free(sound.samples);
}

static void a_phrase_comes_out_while_the_voice_goes_on(void **state)
{
    (void)state;
    struct sound sound = {0};
    add_noise(&sound, 0.3, 10);
    say(&sound, "signal left");
    sound.n -= (size_t)(0.6 * SL_SPEECH_RATE_HZ); /* hardly a pause */
    for (int i = 0; i < 3; i++) {
        say(&sound, "what a lovely evening for a walk along the water");
        sound.n -= (size_t)(0.6 * SL_SPEECH_RATE_HZ);
    }
    struct sl_listener *listener = fresh(NULL);
    struct sl_heard_list heard = {0};
    size_t half = sound.n / 2;
    assert_int_equal(sl_listener_feed(listener, sound.samples, half, &heard, NULL), SL_OK);
    assert_true(sl_listener_speaking(listener));
    assert_true(heard.count >= 1);
    assert_string_equal(heard.items[0].text, "signal left");
    sl_heard_clear(&heard);
    sl_listener_free(listener); /* in the midst of a word */
    free(sound.samples);
}

static void nothing_is_heard_in_silence_and_noise(void **state)
{
    static const int peaks[] = {0, 10, 1000, 10000};
    (void)state;
    for (size_t i = 0; i < sizeof peaks / sizeof *peaks; i++) {
        struct sound sound = {0};
        struct sl_heard_list heard = {0};
        struct sl_listener *listener = fresh(NULL);
        add_noise(&sound, 8, peaks[i]);
        hear(listener, &sound, BLOCK, &heard);
        assert_int_equal(heard.count, 0);
        hear(listener, &(struct sound){0}, BLOCK, &heard); /* nothing at all */
        assert_int_equal(heard.count, 0);
        sl_listener_free(listener);
        free(sound.samples);
    }
}

static void the_voice_is_learnt_and_serves_as_start(void **state)
{
    (void)state;
    double starts_s[N_SAID];
    struct sound sound = a_run(starts_s);
    struct sl_heard_list heard = {0};
    struct sl_listener *listener = fresh(NULL);
    double speech_s = -1;
    sl_listener_voice(listener, &speech_s);
    assert_float_equal(speech_s, 0, 1e-9);
    hear(listener, &sound, BLOCK, &heard);
    struct sl_voice voice = sl_listener_voice(listener, &speech_s);
    assert_true(voice.known);
    assert_true(speech_s > 4 && speech_s < (double)sound.n / SL_SPEECH_RATE_HZ);
    sl_listener_free(listener);

    struct sl_listener *other = fresh(&voice);
    struct sl_voice start = sl_listener_voice(other, &speech_s);
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        assert_float_equal(start.mean[i], voice.mean[i], 1e-9);
    }
    sl_heard_clear(&heard);
    hear(other, &sound, BLOCK, &heard);
    assert_true(heard.count >= N_SAID);
    struct sl_voice again = sl_listener_voice(other, &speech_s);
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) { /* of the same voice, the same mean */
        assert_float_equal(again.mean[i], voice.mean[i], 1e-9);
    }
    sl_heard_clear(&heard);
    sl_listener_free(other);
    free(sound.samples);
}

/* The mean of c0 over a sound heard by a new listener. */
static double c0_of(const struct sound *sound)
{
    struct sl_heard_list heard = {0};
    double speech_s = 0;
    struct sl_listener *listener = fresh(NULL);
    hear(listener, sound, BLOCK, &heard);
    struct sl_voice voice = sl_listener_voice(listener, &speech_s);
    sl_heard_clear(&heard);
    sl_listener_free(listener);
    return voice.mean[0];
}

/* c0 is the sum of the 25 filters' log energies over sqrt(25) (the orthonormal cosine transform),
 * so twice the amplitude adds sqrt(25) ln 4 = 6.931 to it, by hand; a little less where the front
 * end's noise removal and floors have a say. */
static void twice_the_amplitude_is_about_7_more_in_c0(void **state)
{
    (void)state;
    double starts_s[N_SAID];
    struct sound sound = a_run(starts_s);
    for (size_t i = 0; i < sound.n; i++) {
        sound.samples[i] = (int16_t)(sound.samples[i] / 2);
    }
    double soft = c0_of(&sound);
    for (size_t i = 0; i < sound.n; i++) { /* exactly twice */
        sound.samples[i] = (int16_t)(sound.samples[i] * 2);
    }
    double loud = c0_of(&sound);
    print_message("c0 %.2f, %.2f\n", loud, soft);
    assert_true(fabs(loud - soft - 6.931) < 1);
    free(sound.samples);
}

static void the_longer_phrase_takes_the_place_of_the_shorter(void **state)
{
    static const struct {
        const char *text;
        double start_s, end_s;
        bool stays;
    } rows[] = {
        {"into second", 1.0, 1.6, false},
        {"into second gear", 1.0, 2.0, false},
        {"okay", 2.0, 2.4, true}, /* begins where the other ends */
        {"into second gear clutch up", 1.1, 1.9, true},
    };
    (void)state;
    struct sl_heard_list heard = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_heard item = {
            .text = (char *)rows[i].text, .start_s = rows[i].start_s, .end_s = rows[i].end_s};
        assert_int_equal(sl_heard_add(&heard, &item, NULL), SL_OK);
    }
    sl_listener_drop_replaced(&heard);
    size_t kept = 0;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (rows[i].stays) {
            assert_true(kept < heard.count);
            assert_string_equal(heard.items[kept++].text, rows[i].text);
        }
    }
    assert_int_equal(kept, heard.count);
    sl_heard_clear(&heard);
}

static void start_values_that_are_none_are_refused(void **state)
{
    static const double values[] = {NAN, INFINITY, -201, 1e9};
    (void)state;
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        struct sl_voice voice = {.known = true};
        voice.mean[7] = values[i];
        struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
        struct sl_listener_setup setup = {.paths = &paths, .voice = &voice};
        struct sl_listener *listener = NULL;
        struct sl_error error = {0};
        assert_int_equal(sl_listener_new(&routine, &setup, &listener, &error), SL_INVALID);
        assert_null(listener);
        assert_non_null(error.mend);
        sl_error_clear(&error);
    }
}

static void a_missing_model_is_said(void **state)
{
    (void)state;
    struct sl_recogniser_paths paths = {.acoustic_model = "/nowhere",
                                        .pronunciations = pronunciations};
    struct sl_listener_setup setup = {.paths = &paths};
    struct sl_listener *listener = NULL;
    assert_int_equal(sl_listener_new(&routine, &setup, &listener, NULL), SL_NOT_FOUND);
    sl_listener_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_said_is_heard_at_its_time),
        cmocka_unit_test(the_size_of_blocks_changes_nothing),
        cmocka_unit_test(a_phrase_comes_out_while_the_voice_goes_on),
        cmocka_unit_test(nothing_is_heard_in_silence_and_noise),
        cmocka_unit_test(the_voice_is_learnt_and_serves_as_start),
        cmocka_unit_test(twice_the_amplitude_is_about_7_more_in_c0),
        cmocka_unit_test(the_longer_phrase_takes_the_place_of_the_shorter),
        cmocka_unit_test(start_values_that_are_none_are_refused),
        cmocka_unit_test(a_missing_model_is_said),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
