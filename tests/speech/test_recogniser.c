#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/hand_book.h"
#include "speech/spoken.h"

#include "speech/recogniser.h"

#include <math.h>

static struct sl_routine routine;
static char *pronunciations;
static struct sl_recogniser *shared;

static struct sl_recogniser *fresh(void)
{
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    struct sl_recogniser *recogniser = NULL;
    assert_int_equal(sl_recogniser_new(&routine, &paths, NULL, &recogniser, NULL), SL_OK);
    return recogniser;
}

static int set_up(void **state)
{
    (void)state;
    routine = hand_routine();
    pronunciations = hand_pronunciation_file("hand.dict");
    shared = fresh();
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    sl_recogniser_free(shared);
    (void)remove(pronunciations);
    free(pronunciations);
    hand_clear(&routine);
    return 0;
}

static void hear(struct sl_recogniser *recogniser, const struct sound *sound, size_t block,
                 struct sl_heard_list *heard)
{
    for (size_t at = 0; at < sound->n; at += block) {
        size_t n = sound->n - at < block ? sound->n - at : block;
        assert_int_equal(sl_recogniser_feed(recogniser, sound->samples + at, n, heard, NULL),
                         SL_OK);
    }
    assert_int_equal(sl_recogniser_finish(recogniser, heard, NULL), SL_OK);
}

static struct sound a_run(void)
{
    struct sound sound = {0};
    add_noise(&sound, 0.4, 10);
    (void)say(&sound, "interior mirror, left mirror.");
    (void)say(&sound, "signal left.");
    (void)say(&sound, "slow down to ten.");
    (void)say(&sound, "second gear, clutch up.");
    (void)say(&sound, "clear, going.");
    return sound;
}

static void a_clean_run_is_heard_with_its_settings(void **state)
{
    (void)state;
    static const struct {
        const char *say;
        size_t phase;
        struct sl_settings settings;
    } rows[] = {
        {"interior mirror, right mirror.",
         MIRRORS,
         {.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_RIGHT}, .n_mirrors = 2}},
        {"signal right.", SIGNAL, {.signal = SL_SIGNAL_RIGHT}},
        {"slow down to five.", SPEED, {.speed_mps = 5 * 0.44704}},
        {"first gear, clutch down.", GEAR, {.gear = 1, .clutch = SL_CLUTCH_DOWN}},
        {"okay.", SL_PHRASE_FILLER, {.gear = 0}},
        {"no, sorry.", SL_PHRASE_CORRECTION, {.gear = 0}},
        {"second gear, clutch up.", GEAR, {.gear = 2, .clutch = SL_CLUTCH_UP}},
        {"not clear, stopping.", DECIDE, {.decision = SL_DECISION_WAIT}},
    };
    enum { N = sizeof(rows) / sizeof(rows[0]) };
    double starts_s[N];
    struct sound sound = {0};
    struct sl_heard_list heard = {0};
    add_noise(&sound, 1, 10);
    for (size_t i = 0; i < N; i++) {
        starts_s[i] = say(&sound, rows[i].say);
    }
    hear(shared, &sound, sound.n, &heard);
    assert_int_equal(heard.count, N);
    for (size_t i = 0; i < N; i++) {
        assert_int_equal(heard.items[i].phase, rows[i].phase);
        assert_true(sl_settings_equal(&heard.items[i].settings, &rows[i].settings));
        assert_true(fabs(heard.items[i].start_s - starts_s[i]) < 0.12);
        assert_true(heard.items[i].end_s > heard.items[i].start_s);
        assert_true(heard.items[i].confidence > 0.5 && heard.items[i].confidence <= 1);
        assert_false(heard.items[i].unclear);
    }
    sl_heard_clear(&heard);
    free(sound.samples);
}

static void silence_and_noise_say_nothing(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double seconds;
        int peak;
    } rows[] = {
        {"nothing at all", 0, 1}, {"one frame", 0.01, 1},  {"digital silence", 3, 0},
        {"faint noise", 5, 10},   {"loud noise", 5, 8000}, {"a tenth of a second", 0.1, 3000},
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        struct sound sound = {0};
        struct sl_heard_list heard = {0};
        print_message("%s\n", rows[i].name);
        add_noise(&sound, rows[i].seconds, rows[i].peak);
        hear(shared, &sound, 4000, &heard);
        assert_int_equal(heard.count, 0);
        free(sound.samples);
    }
}

static void the_size_of_a_block_changes_nothing(void **state)
{
    (void)state;
    static const size_t blocks[] = {1, 333, 1600, 100001};
    struct sound sound = a_run();
    struct sl_heard_list whole = {0};
    hear(shared, &sound, sound.n, &whole);
    assert_int_equal(whole.count, 5);
    for (size_t i = 0; i < sizeof(blocks) / sizeof(blocks[0]); i++) {
        struct sl_heard_list heard = {0};
        hear(shared, &sound, blocks[i], &heard);
        assert_same(&whole, &heard);
        sl_heard_clear(&heard);
    }
    sl_heard_clear(&whole);
    free(sound.samples);
}

static void a_sound_leaves_nothing_behind_for_the_next(void **state)
{
    (void)state;
    struct sound run = a_run();
    struct sound other = {0};
    struct sl_heard_list first = {0};
    struct sl_heard_list second = {0};
    struct sl_heard_list thrown = {0};
    add_noise(&other, 2, 6000);
    (void)say(&other, "not clear, stopping.");

    struct sl_recogniser *recogniser = fresh();
    hear(recogniser, &run, run.n, &first);
    hear(recogniser, &other, other.n, &thrown);
    hear(recogniser, &run, run.n, &second);
    assert_int_equal(first.count, 5);
    assert_same(&first, &second);

    sl_recogniser_free(recogniser);
    sl_heard_clear(&first);
    sl_heard_clear(&second);
    sl_heard_clear(&thrown);
    free(run.samples);
    free(other.samples);
}

static void times_stay_right_across_the_cuts_of_a_long_sound(void **state)
{
    (void)state;
    enum { RUNS = 23 }; /* five minutes with what lies between */
    struct sound sound = {0};
    double starts_s[RUNS];
    for (size_t i = 0; i < RUNS; i++) {
        add_noise(&sound, 10 + 0.37 * (double)(i % 5), 10);
        starts_s[i] = say(&sound, i % 2 == 0 ? "signal left." : "slow down to five.");
    }
    assert_true(sound.n > (size_t)285 * SL_SPEECH_RATE_HZ);
    struct sl_heard_list heard = {0};
    hear(shared, &sound, 1600, &heard);
    assert_int_equal(heard.count, RUNS);
    for (size_t i = 0; i < RUNS; i++) {
        assert_int_equal(heard.items[i].phase, i % 2 == 0 ? SIGNAL : SPEED);
        assert_true(fabs(heard.items[i].start_s - starts_s[i]) < 0.12);
    }
    sl_heard_clear(&heard);
    free(sound.samples);
}

static void a_missing_model_names_the_package(void **state)
{
    (void)state;
    struct sl_recogniser_paths paths = {.acoustic_model = SL_BUILD_DIR "/no-model",
                                        .pronunciations = pronunciations};
    struct sl_recogniser *recogniser = NULL;
    struct sl_error error = {0};
    assert_int_equal(sl_recogniser_new(&routine, &paths, NULL, &recogniser, &error), SL_NOT_FOUND);
    assert_non_null(strstr(error.where, "no-model"));
    assert_non_null(strstr(error.mend, "pocketsphinx-en-us"));
    assert_null(recogniser);
    sl_error_clear(&error);
}

static void missing_pronunciations_are_not_found(void **state)
{
    (void)state;
    struct sl_recogniser_paths paths = {.pronunciations = SL_BUILD_DIR "/none.dict"};
    struct sl_recogniser *recogniser = NULL;
    assert_int_equal(sl_recogniser_new(&routine, &paths, NULL, &recogniser, NULL), SL_NOT_FOUND);
    assert_null(recogniser);
}

static void a_word_without_pronunciation_is_invalid(void **state)
{
    (void)state;
    char *path = sl_strf("%s/short.dict", SL_BUILD_DIR);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs("interior IH N T IH R IY ER\nmirror M IH R ER\n", file) >= 0);
    assert_int_equal(fclose(file), 0);
    struct sl_recogniser_paths paths = {.pronunciations = path};
    struct sl_recogniser *recogniser = NULL;
    struct sl_error error = {0};
    assert_int_equal(sl_recogniser_new(&routine, &paths, NULL, &recogniser, &error), SL_INVALID);
    assert_string_equal(error.where, "clear");
    assert_null(recogniser);
    sl_error_clear(&error);
    (void)remove(path);
    free(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clean_run_is_heard_with_its_settings),
        cmocka_unit_test(silence_and_noise_say_nothing),
        cmocka_unit_test(the_size_of_a_block_changes_nothing),
        cmocka_unit_test(a_sound_leaves_nothing_behind_for_the_next),
        cmocka_unit_test(times_stay_right_across_the_cuts_of_a_long_sound),
        cmocka_unit_test(a_missing_model_names_the_package),
        cmocka_unit_test(missing_pronunciations_are_not_found),
        cmocka_unit_test(a_word_without_pronunciation_is_invalid),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
