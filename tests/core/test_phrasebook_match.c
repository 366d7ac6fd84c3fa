#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/book.h"
#include "support/random.h"

/* "phrase:first+words" for each match, with the settings in words. */
static char *describe_matches(const struct sl_phrasebook *book, const char *text)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    assert_int_equal(sl_phrasebook_match(book, text, &matches, &n_matches, NULL), SL_OK);
    struct sl_str str = {0};
    for (size_t i = 0; i < n_matches; i++) {
        char *words = sl_settings_words(&matches[i].settings);
        sl_str_addf(&str, "%s%zu:%zu+%zu", i == 0 ? "" : "; ", matches[i].phrase,
                    matches[i].first_word, matches[i].n_words);
        sl_str_addf(&str, "%s%s", *words == '\0' ? "" : " ", words);
        free(words);
    }
    free(matches);
    return sl_str_take(&str);
}

static void typed_text_is_matched(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        const char *matches;
    } rows[] = {
        {"", ""},
        {"... , !", ""},
        {"what a nice day", ""},
        {"mirrors", "1:0+1"},
        {"Check the INTERIOR mirror, and left!", "0:0+6 interior and left mirror"},
        {"centre and left mirror", "0:0+4 interior and left mirror"},
        {"signal left", "2:0+2 signal left"},
        {"No signal: it would mislead.", "3:0+5 no signal"},
        {"no signal it would", "3:0+2 no signal"}, /* the ending is not whole */
        {"no", "10:0+1"},
        {"first, no, second gear", "5:0+1 first gear; 10:1+1; 5:2+2 second gear"},
        {"slow down to twenty five miles an hour", "4:0+8 25 mph"},
        {"slow down to twenty", "4:0+4 20 mph"},
        {"brake to walking pace", "4:0+4 3 mph"},
        {"brake to walking", ""},
        {"second, clutch up", "5:0+3 second gear, clutch up"},
        {"um I\xE2\x80\x99m not clear\xE2\x80\x94I'm waiting", "8:2+4 wait"},
        {"\xE2\x80\x98okay\xE2\x80\x99 'looks clear' rear\xE2\x80\x90view",
         "9:0+1; 7:1+2 go; 0:3+1 interior mirror"},
        {"right", "0:0+1 right mirror"}, /* both fit: the earlier one in the book */
        {"caf\xC3\xA9 mirrors 10", "1:1+1"},
        {"\xE2", ""},            /* cut off in the middle of a character */
        {"mirrors\xE2\x80", ""}, /* glued to half a character: another word */
        {"mirrorsmirrors", ""},
    };
    struct sl_phrasebook book = sample_book();
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        char *found = describe_matches(&book, rows[i].text);
        if (strcmp(found, rows[i].matches) != 0) {
            fail_msg("'%s' gives '%s' instead of '%s'", rows[i].text, found, rows[i].matches);
        }
        free(found);
    }
    sl_phrasebook_clear(&book);
}

static void of_two_as_long_the_earlier_phrase_counts(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_phrase(&book, 0, "a b [c]", (struct sl_settings){.gear = 1});
    add_phrase(&book, 1, "a [b] c", (struct sl_settings){.gear = 2});
    add_phrase(&book, 2, "(a b c | a b)", (struct sl_settings){.gear = 3});
    add_phrase(&book, 2, "a b c d", (struct sl_settings){.gear = 4});
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    static const char *const rows[][2] = {
        {"a b c", "0:0+3 first gear"},
        {"a b", "0:0+2 first gear"},
        {"a c", "1:0+2 second gear"},
        {"a b c d", "3:0+4 fourth gear"},
        {"a a c a b c", "1:1+2 second gear; 0:3+3 first gear"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        char *found = describe_matches(&book, rows[i][0]);
        assert_string_equal(found, rows[i][1]);
        free(found);
    }
    sl_phrasebook_clear(&book);
}

static void a_slot_says_more_than_its_phrase(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_sample_slots(&book);
    struct sl_settings settings = mirror(SL_MIRROR_RIGHT);
    settings.gear = 1;
    add_phrase(&book, 0, "all <mirror> <gear>", settings);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    char *found = describe_matches(&book, "all left second");
    assert_string_equal(found, "0:0+3 right and left mirror, second gear");
    free(found);
    sl_phrasebook_clear(&book);
}

static void one_word_with_two_meanings_stays_two_arcs(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_slot(&book, "n");
    add_value(&book, "left door", mirror(SL_MIRROR_LEFT));
    add_value(&book, "left lane", (struct sl_settings){.position = SL_POSITION_LEFT});
    add_phrase(&book, 0, "<n>", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(book.graph.n_arcs, 4);
    char *found = describe_matches(&book, "left door, left lane");
    assert_string_equal(found, "0:0+2 left mirror; 0:2+2 position left");
    free(found);
    sl_phrasebook_clear(&book);
}

static void every_path_of_the_graph_is_matched_whole(void **state)
{
    (void)state;
    struct sl_phrasebook book = sample_book();
    uint64_t random = 3;
    for (int i = 0; i < 5000; i++) {
        assert_a_path_is_matched_whole(&book, &random);
    }
    sl_phrasebook_clear(&book);
}

static void random_text_is_survived(void **state)
{
    (void)state;
    struct sl_phrasebook book = sample_book();
    uint64_t random = 5;
    for (int i = 0; i < 3000; i++) {
        char text[64];
        size_t length = random_below(&random, sizeof text);
        for (size_t j = 0; j < length; j++) {
            text[j] = (char)(1 + random_below(&random, 255));
        }
        text[length == 0 ? 0 : length - 1] = '\0';
        char *found = describe_matches(&book, text);
        assert_non_null(found);
        free(found);
    }
    sl_phrasebook_clear(&book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(typed_text_is_matched),
        cmocka_unit_test(of_two_as_long_the_earlier_phrase_counts),
        cmocka_unit_test(a_slot_says_more_than_its_phrase),
        cmocka_unit_test(one_word_with_two_meanings_stays_two_arcs),
        cmocka_unit_test(every_path_of_the_graph_is_matched_whole),
        cmocka_unit_test(random_text_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
