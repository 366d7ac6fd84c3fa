/* Phrases that differ in one word: which they are, and which of two fits the sound. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/confidence.h"
#include "speech/decoder_twins.h"
#include "speech/searches.h"

#include "speech/hand_book.h"
#include "speech/spoken.h"

#include <math.h>

/* Which of the hand-made phrases this is. */
static size_t phrase_of(const char *words)
{
    for (size_t i = 0; i < N_HAND_PHRASES; i++) {
        if (strcmp(hand_phrases[i].words, words) == 0) {
            return i;
        }
    }
    fail_msg("no phrase \"%s\"", words);
    return 0;
}

/* The twins of a phrase of the book, as if it had been heard with a pause between its words. */
static struct sl_twins twins_of(const char *words)
{
    struct sl_routine routine = hand_routine();
    struct sl_paths paths = {0};
    assert_int_equal(sl_paths_copy(&routine.phrasebook, &paths, NULL), SL_OK);
    struct sl_segment items[16];
    struct sl_segments segments = {.items = items};
    size_t phrase = phrase_of(words);
    for (size_t arc = 0; arc < paths.graph.n_arcs; arc++) {
        if (paths.graph.arcs[arc].phrase == phrase) {
            items[segments.count++] = (struct sl_segment){.kind = SL_SEGMENT_WORD,
                                                          .word = sl_graph_word(&paths.graph, arc)};
            items[segments.count++] = (struct sl_segment){.kind = SL_SEGMENT_SILENCE};
        }
    }
    const struct sl_span span = {.phase = hand_phrases[phrase].phase,
                                 .settings = hand_phrases[phrase].settings,
                                 .n_segments = segments.count};
    struct sl_twins twins = {0};
    assert_int_equal(sl_twins_find(&paths, &span, &segments, &twins, NULL), SL_OK);
    sl_paths_clear(&paths);
    hand_clear(&routine);
    return twins;
}

static void twins_differ_in_one_word_and_in_what_they_name(void **state)
{
    (void)state;
    static const struct {
        const char *words;
        size_t count, place;
    } rows[] = {
        {"signal left", 1, 1},
        {"interior mirror left mirror", 1, 2},
        {"slow down to ten", 1, 3},
        {"first gear clutch down", 0, 0}, /* the other differs in two words */
        {"clear going", 0, 0},
        {"no sorry", 0, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_twins twins = twins_of(rows[i].words);
        assert_int_equal(twins.count, rows[i].count);
        if (twins.count > 0) {
            assert_int_equal(twins.items[0].place, rows[i].place);
        }
        sl_twins_clear(&twins);
    }
}

/* By how much what is spoken fits `heard` better than its twin. */
static double margin_of(const char *spoken, const char *heard)
{
    struct sl_routine routine = hand_routine();
    char *file = hand_pronunciation_file("twins.dict");
    const struct sl_recogniser_paths paths = {.pronunciations = file};
    const struct sl_recogniser_settings settings = sl_recogniser_defaults();
    struct sl_searches searches = {0};
    struct sl_decoder *decoder = NULL;
    struct sl_error error = {0};
    assert_int_equal(sl_searches_make(&routine.phrasebook, &paths, &settings, &searches, &error),
                     SL_OK);
    assert_int_equal(sl_decoder_new(&searches.setup, &decoder, &error), SL_OK);
    struct sound sound = {0};
    add_noise(&sound, 0.3, 10);
    (void)say(&sound, spoken);
    const struct sl_stretch stretch = {.samples = sound.samples, .n_samples = sound.n};
    assert_int_equal(sl_decoder_load(decoder, &stretch, &error), SL_OK);
    struct sl_twins twins = twins_of(heard);
    double margin = 0;
    const size_t frames[2] = {0, sound.n / SL_FRAME_SAMPLES};
    assert_int_equal(sl_decoder_twins(decoder, &twins, frames, &margin, &error), SL_OK);
    sl_twins_clear(&twins);
    sl_decoder_free(decoder);
    sl_searches_clear(&searches);
    free(sound.samples);
    free(file);
    hand_clear(&routine);
    return margin;
}

static void the_one_that_was_said_fits_better(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"signal left", "signal right"},
        {"slow down to ten", "slow down to five"},
        {"interior mirror left mirror", "interior mirror right mirror"}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        double right = margin_of(pairs[i][0], pairs[i][0]);
        double wrong = margin_of(pairs[i][0], pairs[i][1]);
        assert_true(right > 17); /* more likely than not, as the confidence has it */
        assert_true(wrong < 0);
    }
}

static void without_a_twin_there_is_nothing_to_doubt(void **state)
{
    (void)state;
    assert_true(isinf(margin_of("clear going", "clear going")));
}

static void nobody_is_surer_than_of_the_twin(void **state)
{
    (void)state;
    const struct sl_recogniser_settings settings = sl_recogniser_defaults();
    struct sl_evidence evidence = {.word_s = 1, .snr_db = 40, .twin_margin = INFINITY};
    double alone = sl_confidence(&evidence, &settings);
    assert_true(alone > 0.99);
    evidence.twin_margin = settings.twin_even_nats;
    assert_float_equal(sl_confidence(&evidence, &settings), 0.5, 1e-9);
    evidence.twin_margin = 1000;
    assert_float_equal(sl_confidence(&evidence, &settings), alone, 1e-9);
    evidence.score = -20; /* what fits badly gains nothing by a twin that fits worse */
    assert_true(sl_confidence(&evidence, &settings) < 0.01);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(twins_differ_in_one_word_and_in_what_they_name),
        cmocka_unit_test(the_one_that_was_said_fits_better),
        cmocka_unit_test(without_a_twin_there_is_nothing_to_doubt),
        cmocka_unit_test(nobody_is_surer_than_of_the_twin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
