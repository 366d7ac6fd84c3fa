/*
 * The parts of the quality bench, on cases small enough to count by hand.
 */
#include "bench/faults.h"
#include "bench/keywords.h"
#include "bench/pairs.h"
#include "bench/reliability.h"
#include "bench/score.h"
#include "bench/stock_words.h"

#include "core/units.h"
#include "files/models.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

static struct sl_settings read(const char *text)
{
    struct sl_settings settings = {0};
    assert_true(corpus_settings_read(text, &settings));
    return settings;
}

static void twins_are_told_from_other_mistakes(void **state)
{
    (void)state;
    static const struct {
        const char *said, *heard;
        enum bench_pair pair;
        struct bench_pair_counts counts; /* said, right, twin, other, unheard */
    } rows[] = {
        {"mirrors=interior,left", "mirrors=interior,left", BENCH_PAIR_MIRROR, {1, 1, 0, 0, 0}},
        {"mirrors=interior,left", "mirrors=interior,right", BENCH_PAIR_MIRROR, {1, 0, 1, 0, 0}},
        {"mirrors=left", "mirrors=left,right", BENCH_PAIR_MIRROR, {1, 0, 0, 1, 0}},
        {"mirrors=left", "mirrors=interior", BENCH_PAIR_MIRROR, {1, 0, 0, 0, 1}},
        {"mirrors=interior", "mirrors=left", BENCH_PAIR_MIRROR, {0, 0, 0, 0, 0}},
        {"signal=right", "signal=left", BENCH_PAIR_SIGNAL, {1, 0, 1, 0, 0}},
        {"signal=right", "signal=none", BENCH_PAIR_SIGNAL, {1, 0, 0, 1, 0}},
        {"gear=2;clutch=up", "gear=1;clutch=up", BENCH_PAIR_GEAR, {1, 0, 1, 0, 0}},
        {"gear=2", "gear=3", BENCH_PAIR_GEAR, {1, 0, 0, 1, 0}},
        {"gear=3", "gear=2", BENCH_PAIR_GEAR, {0, 0, 0, 0, 0}},
        {"gear=2;clutch=up", "gear=2;clutch=down", BENCH_PAIR_CLUTCH, {1, 0, 1, 0, 0}},
        {"speed_mph=5", "speed_mph=15", BENCH_PAIR_SPEED, {1, 0, 1, 0, 0}},
        {"speed_mph=15", "speed_mph=50", BENCH_PAIR_SPEED, {1, 0, 0, 1, 0}},
        {"speed_mph=10", "-", BENCH_PAIR_SPEED, {1, 0, 0, 0, 1}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench_pair_counts counts[BENCH_PAIR_COUNT] = {{0}};
        struct sl_settings said = read(rows[i].said);
        struct sl_settings heard = read(rows[i].heard);
        bench_pairs_count(&said, &heard, counts);
        if (memcmp(&counts[rows[i].pair], &rows[i].counts, sizeof counts[0]) != 0) {
            fail_msg("%s heard as %s is counted wrongly", rows[i].said, rows[i].heard);
        }
    }
}

/* By hand: bin 0.2 to 0.3 holds 0.2 and 0.29 with one right: off by |0.49 - 1|; the last bin holds
 * 1 and 0.95, both right: off by |1.95 - 2|; (0.51 + 0.05) / 4 = 0.14. */
static void the_calibration_error_is_the_mean_of_what_bins_are_off(void **state)
{
    (void)state;
    struct bench_reliability one = {0};
    struct bench_reliability more = {0};
    assert_true(isnan(bench_reliability_error(&one)));
    bench_reliability_add(&one, 0.2, false);
    bench_reliability_add(&one, 0.29, true);
    bench_reliability_add(&more, 1, true);
    bench_reliability_add(&more, 0.95, true);
    bench_reliability_join(&one, &more);
    assert_int_equal(one.n[2], 2);
    assert_int_equal(one.n[BENCH_BINS - 1], 2);
    assert_float_equal((float)bench_reliability_error(&one), 0.14F, 1e-6F);
}

static void planted_faults_are_found_and_others_are_false(void **state)
{
    (void)state;
    struct sl_routine routine = {0};
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    size_t signal = sl_routine_phase(&routine, "signal");
    size_t gear = sl_routine_phase(&routine, "gear");
    size_t speed = sl_routine_phase(&routine, "speed");
    struct corpus_labels labels = {0};
    assert_int_equal(corpus_labels_truth(&labels, "missed", "signal"), SL_OK);
    assert_int_equal(corpus_labels_truth(&labels, "out-of-order", "gear|speed"), SL_OK);
    assert_int_equal(corpus_labels_truth(&labels, "late", "decide"), SL_OK);
    assert_int_equal(corpus_labels_truth(&labels, "corrected", "mirrors"), SL_OK);
    struct sl_fault marked[] = {{.kind = SL_FAULT_MISSED, .phase = signal},
                                {.kind = SL_FAULT_OUT_OF_ORDER, .phase = speed},
                                {.kind = SL_FAULT_OUT_OF_ORDER, .phase = gear},
                                {.kind = SL_FAULT_UNCLEAR, .phase = gear}};
    struct sl_mark mark = {.faults = marked, .n_faults = 4};
    struct bench_faults faults = {0};
    assert_int_equal(bench_faults_count(&routine, &labels, &mark, NULL, &faults), SL_OK);
    assert_int_equal(faults.planted, 3);
    assert_int_equal(faults.found, 2);
    assert_int_equal(faults.marked, 3);
    assert_int_equal(faults.right, 2); /* one cause may be named once */
    assert_int_equal(faults.unclear, 1);
    corpus_labels_clear(&labels);
    sl_routine_clear(&routine);
}

static void words_of_a_decoder_become_phrases_with_their_times(void **state)
{
    (void)state;
    static const struct bench_word said[] = {
        {"<s>", 0, 0.5, 0},      {"the(2)", 0.5, 0.6, 0}, {"left", 1, 1.3, 0},
        {"mirror", 1.3, 1.8, 0}, {"[NOISE]", 1.8, 2, 0},  {"i'm", 2, 2.2, 0},
        {"a.m.", 2.2, 2.3, 0},   {"second", 3, 3.4, 0},   {"gear", 3.4, 3.9, 0},
        {"<sil>", 3.9, 4.5, 0},  {"clutch", 4.5, 5, 0},   {"up", 5, 5.2, 0}};
    struct sl_routine routine = {0};
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    struct bench_words words = {0};
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        assert_int_equal(bench_words_add(&words, &said[i], NULL), SL_OK);
    }
    assert_int_equal(words.count, 9);
    struct sl_heard_list heard = {0};
    assert_int_equal(bench_words_read(&words, &routine, &heard, NULL), SL_OK);
    assert_int_equal(heard.count, 2);
    assert_int_equal(heard.items[0].phase, sl_routine_phase(&routine, "mirrors"));
    assert_float_equal((float)heard.items[0].start_s, 1, 1e-6F);
    assert_float_equal((float)heard.items[0].end_s, 1.8F, 1e-6F);
    assert_int_equal(heard.items[1].phase, sl_routine_phase(&routine, "gear"));
    assert_int_equal(heard.items[1].settings.clutch, SL_CLUTCH_UP);
    assert_float_equal((float)heard.items[1].start_s, 3, 1e-6F);
    assert_float_equal((float)heard.items[1].end_s, 5.2F, 1e-6F);
    sl_heard_clear(&heard);
    bench_words_clear(&words);
    sl_routine_clear(&routine);
}

static void of_overlapping_keywords_the_one_that_fits_best_stays(void **state)
{
    (void)state;
    static const struct bench_word found[] = {{"go", 4, 4.3, -900},
                                              {"gear", 1.4, 1.8, -900},
                                              {"second gear ", 1, 1.8, -1000},
                                              {"third gear", 1, 1.8, -1900}};
    struct bench_words words = {0};
    for (size_t i = 0; i < sizeof found / sizeof found[0]; i++) {
        assert_int_equal(bench_words_add(&words, &found[i], NULL), SL_OK);
    }
    bench_words_keep_best(&words);
    assert_int_equal(words.count, 2);
    assert_string_equal(words.items[0].text, "second gear");
    assert_string_equal(words.items[1].text, "go");
    bench_words_clear(&words);
}

static bool is_listed(const struct bench_keywords *keywords, const char *text)
{
    for (size_t i = 0; i < keywords->count; i++) {
        if (strcmp(keywords->texts[i], text) == 0) {
            return true;
        }
    }
    return false;
}

/* Every keyword is a phrase of the book, whole, and both of each pair of twins are there. */
static void keywords_are_short_phrases_of_the_book(void **state)
{
    (void)state;
    struct sl_routine routine = {0};
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    struct bench_keywords keywords = {0};
    assert_int_equal(bench_keywords_make(&routine.phrasebook, &keywords, NULL), SL_OK);
    print_message("%zu keywords\n", keywords.count);
    static const char *const twins[] = {"signal left", "signal right", "second gear",
                                        "clutch up",   "clutch down",  "left mirror"};
    for (size_t i = 0; i < sizeof twins / sizeof twins[0]; i++) {
        assert_true(is_listed(&keywords, twins[i]));
    }
    for (size_t i = 0; i < keywords.count; i++) {
        struct sl_text_match *matches = NULL;
        size_t n = 0;
        assert_int_equal(
            sl_phrasebook_match(&routine.phrasebook, keywords.texts[i], &matches, &n, NULL), SL_OK);
        assert_int_equal(n, 1);
        assert_int_equal(matches[0].first_word, 0);
        free(matches);
    }
    bench_keywords_clear(&keywords);
    sl_routine_clear(&routine);
}

/* A phrase is wholly right when its settings were said in the step it overlaps. */
static void a_phrase_with_a_wrong_setting_is_not_wholly_right(void **state)
{
    (void)state;
    struct sl_routine routine = {0};
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    struct corpus_labels labels = {0};
    struct corpus_said first = {"gear", 1, 2, read("gear=1"), "first gear"};
    struct corpus_said second = {"gear", 3, 4, read("gear=2;clutch=up"), "second gear, clutch up"};
    assert_int_equal(corpus_labels_say(&labels, &first), SL_OK);
    assert_int_equal(corpus_labels_say(&labels, &second), SL_OK);
    static const struct {
        const char *settings;
        bool right;
    } rows[] = {{"gear=2", true},           {"gear=1", true},
                {"gear=2;clutch=up", true}, {"gear=2;clutch=down", false},
                {"gear=3", false},          {"-", true}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sl_heard heard = {.phase = sl_routine_phase(&routine, "gear"),
                                 .start_s = 3.1,
                                 .end_s = 3.9,
                                 .settings = read(rows[i].settings)};
        assert_int_equal(bench_is_wholly_right(&routine, &labels, &heard), rows[i].right);
        heard.start_s = 5;
        heard.end_s = 6;
        assert_false(bench_is_wholly_right(&routine, &labels, &heard));
    }
    corpus_labels_clear(&labels);
    sl_routine_clear(&routine);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(twins_are_told_from_other_mistakes),
        cmocka_unit_test(the_calibration_error_is_the_mean_of_what_bins_are_off),
        cmocka_unit_test(planted_faults_are_found_and_others_are_false),
        cmocka_unit_test(words_of_a_decoder_become_phrases_with_their_times),
        cmocka_unit_test(of_overlapping_keywords_the_one_that_fits_best_stays),
        cmocka_unit_test(keywords_are_short_phrases_of_the_book),
        cmocka_unit_test(a_phrase_with_a_wrong_setting_is_not_wholly_right),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
