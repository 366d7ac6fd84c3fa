#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/number_words.h"

/* British usage, "and" before tens and ones: common practice, no source. */
static const struct {
    unsigned number;
    const char *words;
} rows[] = {
    {0, "nought"},
    {1, "one"},
    {10, "ten"},
    {13, "thirteen"},
    {20, "twenty"},
    {25, "twenty-five"},
    {99, "ninety-nine"},
    {100, "one hundred"},
    {101, "one hundred and one"},
    {240, "two hundred and forty"},
    {999, "nine hundred and ninety-nine"},
    {1000, "one thousand"},
    {1005, "one thousand and five"},
    {1250, "one thousand two hundred and fifty"},
    {9999, "nine thousand nine hundred and ninety-nine"},
    {10000, "10000"},
};

static void numbers_are_said_the_british_way(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_str words = {0};
        sl_add_number_words(&words, rows[i].number);
        assert_string_equal(sl_str_text(&words), rows[i].words);
        sl_str_clear(&words);
    }
}

static void what_is_said_is_read_back(void **state)
{
    (void)state;
    for (unsigned number = 1; number < 100; number++) {
        struct sl_str words = {0};
        unsigned read = 0;
        sl_add_number_words(&words, number);
        size_t length = words.length;
        sl_str_add(&words, " miles");
        assert_int_equal(sl_number_words_at(sl_str_text(&words), &read), length);
        assert_int_equal(read, number);
        sl_str_clear(&words);
    }
}

static void words_are_whole_and_in_any_case(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t length;
        unsigned number;
    } others[] = {
        {"Twenty  Five", 12, 25}, {"twenty, five", 6, 20}, {"twenty eleven", 6, 20}, {"tens", 0, 7},
        {"fourth", 0, 7},         {"nought", 0, 7},        {"twenty-fiver", 6, 20},  {"", 0, 7},
    };
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        unsigned read = 7;
        assert_int_equal(sl_number_words_at(others[i].text, &read), others[i].length);
        assert_int_equal(read, others[i].number);
    }
    assert_int_equal(sl_words_at("Miles-an  hour.", "miles an hour"), 14);
    assert_int_equal(sl_words_at("milesan hour", "miles an hour"), 0);
    assert_int_equal(sl_words_at("mp", "mph"), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_said_the_british_way),
        cmocka_unit_test(what_is_said_is_read_back),
        cmocka_unit_test(words_are_whole_and_in_any_case),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
