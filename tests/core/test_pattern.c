#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/book.h"
#include "support/random.h"

static void nonsense_is_refused_with_its_column(void **state)
{
    (void)state;
    static const struct {
        const char *pattern;
        size_t column;
    } rows[] = {
        {"", 1},           {"   ", 1},
        {"[a]", 1},        {"[a] [b]", 1},
        {"([a]|b)", 1},    {"a | b", 3},
        {"a (b", 3},       {"a [b", 3},
        {"a b)", 4},       {"a (b]", 5},
        {"a []", 4},       {"a (|b)", 4},
        {"a (b|)", 6},     {"a (b||c)", 6},
        {"a <n", 5},       {"a <> b", 3},
        {"a <no> b", 3},   {"Mirrors", 1},
        {"to 10", 4},      {"a, b", 2},
        {"a\tb", 2},       {"caf\xC3\xA9 x!", 4},
        {"\xC3\xA9 b", 1}, {"a 'b", 3},
        {"a b'", 4},       {"a-", 2},
        {"a <n> <N>", 8},  {"[[[[[[[[[a]]]]]]]]] b", 9},
        {"(a) > b", 5},
    };
    struct sl_phrasebook book = {0};
    add_slot(&book, "n");
    add_value(&book, "x", none);
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_error error = {0};
        size_t column = 0;
        enum sl_status status =
            sl_phrasebook_check_pattern(&book, rows[i].pattern, &column, &error);
        if (status != SL_INVALID || column != rows[i].column) {
            fail_msg("'%s': status %d, column %zu instead of %zu", rows[i].pattern, (int)status,
                     column, rows[i].column);
        }
        char *where = sl_strf("pattern '%s', column %zu", rows[i].pattern, column);
        assert_string_equal(error.where, where);
        assert_non_null(error.what);
        assert_non_null(error.mend);
        free(where);
        sl_error_clear(&error);
    }
    sl_phrasebook_clear(&book);
}

static void a_pattern_without_end_is_refused(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    struct sl_error error = {0};
    size_t column = 0;
    char *pattern = malloc(2001);
    assert_non_null(pattern);
    memset(pattern, 'a', 2000);
    pattern[2000] = '\0';
    assert_int_equal(sl_phrasebook_check_pattern(&book, pattern, &column, &error), SL_INVALID);
    assert_non_null(error.what);
    pattern[1000] = '\0';
    assert_int_equal(sl_phrasebook_check_pattern(&book, pattern, &column, &error), SL_OK);
    free(pattern);
    sl_error_clear(&error);
}

static void random_strings_are_taken_or_refused_with_a_text(void **state)
{
    (void)state;
    static const char signs[] = "aab c  [](|)<n>[](|)'-A1,\t\xC3\xA9";
    uint64_t random = 11;
    size_t taken = 0;
    size_t refused = 0;
    for (int i = 0; i < 20000; i++) {
        char pattern[24];
        size_t length = random_below(&random, i % 2 == 0 ? 9 : sizeof pattern - 1);
        for (size_t j = 0; j < length; j++) {
            pattern[j] = signs[random_below(&random, i % 2 == 0 ? 18 : sizeof signs - 1)];
        }
        pattern[length] = '\0';
        struct sl_phrasebook book = {0};
        struct sl_error error = {0};
        add_slot(&book, "n");
        add_value(&book, "x", none);
        add_phrase(&book, 0, pattern, none);
        enum sl_status status = sl_phrasebook_compile(&book, &error);
        if (status == SL_OK) {
            taken++;
            assert_graph_is_sound(&book);
        } else {
            refused++;
            assert_int_equal(status, SL_INVALID);
            assert_true(error.what != NULL && error.where != NULL && error.mend != NULL);
            assert_int_equal(book.graph.n_arcs, 0);
        }
        sl_error_clear(&error);
        sl_phrasebook_clear(&book);
    }
    print_message("%zu taken, %zu refused\n", taken, refused);
    assert_true(taken > 500 && refused > 500);
}

static void bad_slots_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *name;   /* of the second slot */
        const char *values; /* its only value; NULL: it has none */
    } rows[] = {{"good", "x"},          {"", "a"},          {"Gear", "a"},          {"a b", "a"},
                {"empty", NULL},        {"bracket", "[a]"}, {"nested", "a <good>"}, {"blank", ""},
                {"figure", "twenty 5"}, {"bar", "a | b"}};
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_phrasebook book = {0};
        struct sl_error error = {0};
        add_slot(&book, "good");
        add_value(&book, "a", none);
        add_slot(&book, rows[i].name);
        if (rows[i].values != NULL) {
            add_value(&book, rows[i].values, none);
        }
        add_phrase(&book, 0, "a", none);
        if (sl_phrasebook_compile(&book, &error) != SL_INVALID) {
            fail_msg("slot '%s' was taken", rows[i].name);
        }
        assert_true(error.what != NULL && error.where != NULL && error.mend != NULL);
        sl_error_clear(&error);
        sl_phrasebook_clear(&book);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nonsense_is_refused_with_its_column),
        cmocka_unit_test(a_pattern_without_end_is_refused),
        cmocka_unit_test(random_strings_are_taken_or_refused_with_a_text),
        cmocka_unit_test(bad_slots_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
