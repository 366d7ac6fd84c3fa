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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_said_the_british_way),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
