#include "core/alike.h"

#include "core/str.h"
#include "core/units.h"
#include "core/unspoken.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/book.h"

#include <stdlib.h>
#include <string.h>

#define WORDS(list) .items = (list), .count = sizeof(list) / sizeof *(list)

/* Sorted, with a variant. */
static struct sl_pronunciation dictionary[] = {
    {"down", "D AW N", 1},       {"fifteen", "F IH F T IY N", 2},
    {"fifty", "F IH F T IY", 3}, {"five", "F AY V", 4},
    {"go", "G OW", 5},           {"now", "N AW", 6},
    {"route", "R UW T", 7},      {"route", "R AW T", 8},
    {"slow", "S L OW", 9},       {"to", "T AH", 10},
    {"wait", "W EY T", 11},
};
static const struct sl_pronunciations pronunciations = {WORDS(dictionary)};

static int distance(const char *a, const char *b)
{
    return sl_phone_cost(sl_phone_from_name(a, strlen(a)), sl_phone_from_name(b, strlen(b)));
}

/* "slow down to FIGURE" and what else may be said. */
static struct sl_phrasebook make_book(void)
{
    struct sl_phrasebook book = {0};
    add_slot(&book, "figure");
    add_value(&book, "five", speed(5));
    add_value(&book, "fifteen", speed(15));
    add_value(&book, "fifty", speed(50));
    add_phrase(&book, 0, "[slow] [down] to <figure>", (struct sl_settings){0});
    add_phrase(&book, 1, "go [now]", (struct sl_settings){.decision = SL_DECISION_GO});
    add_phrase(&book, 1, "wait [now]", (struct sl_settings){.decision = SL_DECISION_WAIT});
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    return book;
}

static void pairs_come_once_in_their_nearest_words(void **state)
{
    (void)state;
    struct sl_phrasebook book = make_book();
    struct sl_alikes found = {0};
    assert_int_equal(sl_alike_within(&book, &pronunciations, 3 * SL_PHONE_WHOLE, &found, NULL),
                     SL_OK);
    /* fifty and fifteen: a phone more; five and fifty: a vowel, a consonant and two phones more. */
    assert_true(found.count >= 2);
    assert_int_equal(found.items[0].distance, SL_PHONE_WHOLE);
    assert_string_equal(found.items[0].one.words, "to fifteen");
    assert_string_equal(found.items[0].other.words, "to fifty");
    assert_true(found.items[0].one.settings.speed_mps == sl_mps_from_mph(15));
    assert_int_equal(found.items[1].distance, distance("G", "W") + distance("OW", "EY") + 12);
    assert_string_equal(found.items[1].one.words, "go");
    assert_string_equal(found.items[1].other.words, "wait");
    for (size_t i = 1; i < found.count; i++) {
        assert_true(found.items[i - 1].distance <= found.items[i].distance);
        assert_true(found.items[i].distance < 3 * SL_PHONE_WHOLE);
    }
    sl_alikes_clear(&found);
    sl_phrasebook_clear(&book);
}

static void what_means_the_same_is_no_pair(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    struct sl_alikes found = {0};
    add_phrase(&book, 0, "(slow | slow down | slow now)", (struct sl_settings){0});
    add_phrase(&book, 0, "slow to", (struct sl_settings){0});
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(sl_alike_within(&book, &pronunciations, 40, &found, NULL), SL_OK);
    assert_int_equal(found.count, 0);
    sl_phrasebook_clear(&book);
}

/* The same words in two phases are not apart at all; a variant that is nearer counts. */
static void every_variant_counts(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    struct sl_alikes found = {0};
    add_phrase(&book, 0, "route", (struct sl_settings){0});
    add_phrase(&book, 1, "route", (struct sl_settings){0});
    add_phrase(&book, 2, "now", (struct sl_settings){0});
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(sl_alike_within(&book, &pronunciations, 40, &found, NULL), SL_OK);
    assert_int_equal(found.count, 3);
    assert_int_equal(found.items[0].distance, 0);
    assert_int_equal(found.items[1].distance, distance("R", "N") + 12); /* R AW T, N AW */
    sl_alikes_clear(&found);
    sl_phrasebook_clear(&book);
}

/* Levenshtein's own figure for kitten and sitting, 3 (Levenshtein 1966; rosettacode.org), with
 * letters as phones whose changes cost a whole one: k and i are vowels, s and e consonants. */
static void with_whole_costs_it_is_levenshteins_distance(void **state)
{
    (void)state;
    struct sl_pronunciation letters[] = {{"kitten", "AA IY T T D N", 1},
                                         {"sitting", "S IY T T IY N G", 2}};
    const struct sl_pronunciations list = {WORDS(letters)};
    struct sl_phrasebook book = {0};
    struct sl_alikes found = {0};
    add_phrase(&book, 0, "sitting", (struct sl_settings){0});
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    const char *const words[] = {"kitten"};
    const struct sl_alike_text text = {words, 1, 3, 5 * SL_PHONE_WHOLE};
    assert_int_equal(sl_alike_nearest(&book, &list, &text, &found, NULL), SL_OK);
    assert_int_equal(found.count, 1);
    assert_int_equal(found.items[0].distance, 3 * SL_PHONE_WHOLE);
    sl_alikes_clear(&found);
    sl_phrasebook_clear(&book);
}

static void the_nearest_phrases_of_a_text_come_in_order(void **state)
{
    (void)state;
    struct sl_phrasebook book = make_book();
    struct sl_alikes found = {0};
    const char *const words[] = {"go", "now", "now"};
    struct sl_alike_text text = {words, 3, 3, 5 * SL_PHONE_WHOLE};
    assert_int_equal(sl_alike_nearest(&book, &pronunciations, &text, &found, NULL), SL_OK);
    assert_true(found.count >= 2);
    assert_string_equal(found.items[0].one.words, "go now now");
    assert_string_equal(found.items[0].other.words, "go now");
    assert_int_equal(found.items[0].distance, 2 * SL_PHONE_WHOLE);
    assert_int_equal(found.items[0].other.settings.decision, SL_DECISION_GO);
    for (size_t i = 1; i < found.count; i++) {
        assert_int_not_equal(found.items[i].other.phrase, found.items[0].other.phrase);
    }
    text.limit = 2 * SL_PHONE_WHOLE;
    assert_int_equal(sl_alike_nearest(&book, &pronunciations, &text, &found, NULL), SL_OK);
    assert_int_equal(found.count, 0);
    sl_phrasebook_clear(&book);
}

static void words_without_pronunciation_are_named_with_their_phrase(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    struct sl_unspoken_list list = {0};
    add_phrase(&book, 0, "go now", (struct sl_settings){0});
    add_phrase(&book, 1, "wait [yonder] for it", (struct sl_settings){0});
    add_phrase(&book, 1, "for now", (struct sl_settings){0});
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(sl_unspoken_find(&book, &pronunciations, &list, NULL), SL_OK);
    assert_int_equal(list.count, 3);
    assert_string_equal(list.items[0].word, "for");
    assert_int_equal(list.items[0].phrase, 1);
    assert_string_equal(list.items[1].word, "it");
    assert_string_equal(list.items[2].word, "yonder");
    free(list.items);
    sl_phrasebook_clear(&book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pairs_come_once_in_their_nearest_words),
        cmocka_unit_test(what_means_the_same_is_no_pair),
        cmocka_unit_test(every_variant_counts),
        cmocka_unit_test(with_whole_costs_it_is_levenshteins_distance),
        cmocka_unit_test(the_nearest_phrases_of_a_text_come_in_order),
        cmocka_unit_test(words_without_pronunciation_are_named_with_their_phrase),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
