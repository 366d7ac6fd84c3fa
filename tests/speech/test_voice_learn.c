/* Getting to know a voice, spoken by libflite. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/spoken.h"

#include "core/str.h"
#include "files/reading.h"
#include "speech/recogniser.h"
#include "speech/voice_learn.h"
#include "speech/voice_model.h"
#include "support/temp_folder.h"

#define N_READ ((size_t)SL_VOICE_PHRASES_LEAST)

static struct sl_reading reading;
static struct sl_pronunciations pronunciations;

static int set_up(void **state)
{
    (void)state;
    assert_int_equal(sl_reading_load(&reading, NULL), SL_OK);
    assert_int_equal(
        sl_pronunciations_load(SL_SOURCE_DIR "/models/pronunciations.dict", &pronunciations, NULL),
        SL_OK);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    sl_pronunciations_clear(&pronunciations);
    sl_reading_clear(&reading);
    return 0;
}

static struct sl_voice_task make_task(void)
{
    return (struct sl_voice_task){.pronunciations = &pronunciations,
                                  .phrases = (const char *const *)reading.phrases,
                                  .n_phrases = N_READ};
}

/* Plays the sound so many times as fast: a shorter vocal tract, a higher voice. */
static void hasten(struct sound *sound, double factor)
{
    size_t n = (size_t)((double)(sound->n - 1) / factor);
    for (size_t i = 0; i < n; i++) {
        double at = (double)i * factor;
        size_t k = (size_t)at;
        double share = at - (double)k;
        sound->samples[i] =
            (int16_t)((1 - share) * sound->samples[k] + share * sound->samples[k + 1]);
    }
    sound->n = n;
}

static struct sound read_phrases(size_t n, double factor)
{
    struct sound sound = {0};
    add_noise(&sound, 0.7, 10);
    for (size_t i = 0; i < n; i++) {
        (void)say(&sound, reading.phrases[i]);
    }
    if (factor != 1) {
        hasten(&sound, factor);
    }
    return sound;
}

static void a_voice_far_from_the_models_is_learnt(void **state)
{
    (void)state;
    struct sl_voice_task task = make_task();
    struct sound sound = read_phrases(reading.n, 1.1);
    struct sl_voice_learnt learnt = {0};
    task.n_phrases = reading.n;
    assert_int_equal(sl_voice_learn(&task, sound.samples, sound.n, &learnt, NULL), SL_OK);
    free(sound.samples);
    assert_int_equal(learnt.n_read, reading.n);
    assert_true(learnt.helps);
    assert_true(learnt.right_after > learnt.right_before + SL_VOICE_GAIN_LEAST);
    assert_true(learnt.n_better > learnt.n_worse);
    assert_true(sl_mllr_is_sound(&learnt.mllr));
    uint64_t model = 0;
    assert_int_equal(sl_voice_model_fingerprint(NULL, &model, NULL), SL_OK);
    assert_true(model == learnt.fingerprint);
}

static void a_voice_that_the_model_knows_is_left_alone(void **state)
{
    (void)state;
    struct sl_voice_task task = make_task();
    struct sound sound = read_phrases(N_READ, 1);
    struct sl_voice_learnt learnt = {0};
    assert_int_equal(sl_voice_learn(&task, sound.samples, sound.n, &learnt, NULL), SL_OK);
    free(sound.samples);
    assert_false(learnt.helps);
    assert_true(learnt.right_before > 0.5);
}

static void phrases_that_were_read_are_told_from_those_that_were_not(void **state)
{
    (void)state;
    struct sl_voice_task task = make_task();
    struct sl_voice_learnt found = {0};
    struct sl_error error = {0};
    struct sound sound = read_phrases(2, 1);
    (void)say(&sound, "somebody else parked the car in front of the station");
    assert_int_equal(sl_voice_find(&task, sound.samples, sound.n, &found, NULL), SL_OK);
    for (size_t i = 0; i < N_READ; i++) {
        assert_true(found.read[i] == (i < 2));
    }
    assert_int_equal(found.n_read, 2);
    assert_int_equal(sl_voice_learn(&task, sound.samples, sound.n, &found, &error), SL_INVALID);
    assert_non_null(strstr(error.what, "2 of 9 phrases"));
    sl_error_clear(&error);
    free(sound.samples);
}

static void a_word_without_a_pronunciation_is_named(void **state)
{
    (void)state;
    static const char *const phrases[] = {"we had hot xylophones"};
    struct sl_voice_task task = make_task();
    struct sl_voice_learnt found = {0};
    struct sl_error error = {0};
    int16_t silence[1600] = {0};
    task.phrases = phrases;
    task.n_phrases = 1;
    assert_int_equal(sl_voice_find(&task, silence, 1600, &found, &error), SL_INVALID);
    assert_string_equal(error.where, "xylophones");
    sl_error_clear(&error);
}

static void silence_is_no_reading(void **state)
{
    (void)state;
    struct sl_voice_task task = make_task();
    struct sl_voice_learnt found = {.n_read = 5};
    int16_t silence[16000] = {0};
    assert_int_equal(sl_voice_find(&task, silence, 16000, &found, NULL), SL_OK);
    assert_int_equal(found.n_read, 0);
    assert_int_equal(sl_voice_find(&task, silence, 0, &found, NULL), SL_OK);
    assert_int_equal(found.n_read, 0);
}

/* Hears a phrase of a small routine with this transform. */
static struct sl_heard_list hear(const struct sl_mllr *own_voice)
{
    struct sl_routine routine = {0};
    struct sl_phrase phrase = {.pattern = sl_strdup("the judge wore a large red hat")};
    routine.phrasebook.phrases = &phrase;
    routine.phrasebook.n_phrases = 1;
    assert_int_equal(sl_phrasebook_compile(&routine.phrasebook, NULL), SL_OK);
    struct sl_recogniser_paths paths = {
        .pronunciations = SL_SOURCE_DIR "/models/pronunciations.dict", .own_voice = own_voice};
    struct sl_recogniser *recogniser = NULL;
    struct sl_heard_list heard = {0};
    struct sound sound = {0};
    add_noise(&sound, 0.7, 10);
    (void)say(&sound, "the judge wore a large red hat");
    assert_int_equal(sl_recogniser_new(&routine, &paths, NULL, &recogniser, NULL), SL_OK);
    assert_int_equal(sl_recogniser_feed(recogniser, sound.samples, sound.n, &heard, NULL), SL_OK);
    assert_int_equal(sl_recogniser_finish(recogniser, &heard, NULL), SL_OK);
    sl_recogniser_free(recogniser);
    free(sound.samples);
    free(phrase.pattern);
    routine.phrasebook.phrases = NULL;
    routine.phrasebook.n_phrases = 0;
    sl_phrasebook_clear(&routine.phrasebook);
    return heard;
}

static void a_transform_that_changes_nothing_changes_nothing(void **state)
{
    (void)state;
    struct sl_mllr identity = sl_mllr_identity();
    struct sl_heard_list without = hear(NULL);
    struct sl_heard_list with = hear(&identity);
    assert_int_equal(without.count, 1);
    assert_same(&without, &with);
    sl_heard_clear(&without);
    sl_heard_clear(&with);
}

static void a_transform_is_really_used(void **state)
{
    (void)state;
    struct sl_mllr away = sl_mllr_identity();
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        away.streams[0].rows[i][i] = -1; /* what is bright becomes dark */
    }
    struct sl_heard_list heard = hear(&away);
    assert_true(heard.count == 0 || heard.items[0].unclear);
    sl_heard_clear(&heard);
}

static void a_broken_acoustic_model_is_refused(void **state)
{
    (void)state;
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    struct sl_voice_model model = {0};
    assert_int_equal(sl_voice_model_load("/nonexistent", &model, NULL), SL_NOT_FOUND);
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "means", path);
    static const char *const texts[] = {"", "s3\nversion 1.0\n", "s3\nendhdr\n",
                                        "s3\nendhdr\nD3\"\x11*"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        (void)fputs(texts[i], file);
        assert_int_equal(fclose(file), 0);
        assert_int_equal(sl_voice_model_load(folder.path, &model, NULL), SL_FORMAT);
        assert_null(model.gaussians.means);
    }
    temp_folder_remove(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_voice_far_from_the_models_is_learnt),
        cmocka_unit_test(a_voice_that_the_model_knows_is_left_alone),
        cmocka_unit_test(phrases_that_were_read_are_told_from_those_that_were_not),
        cmocka_unit_test(a_word_without_a_pronunciation_is_named),
        cmocka_unit_test(silence_is_no_reading),
        cmocka_unit_test(a_transform_that_changes_nothing_changes_nothing),
        cmocka_unit_test(a_transform_is_really_used),
        cmocka_unit_test(a_broken_acoustic_model_is_refused),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
