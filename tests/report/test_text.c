#include "report/text.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

static void control_characters_and_broken_utf8_are_shown_as_question_marks(void **state)
{
    (void)state;
    static const struct {
        const char *name, *text, *shown;
    } rows[] = {
        {"plain", "Mill Lane", "Mill Lane"},
        {"accents stay", "Caf\xc3\xa9 \xe2\x80\x93 \xf0\x9f\x9a\x97",
         "Caf\xc3\xa9 \xe2\x80\x93 \xf0\x9f\x9a\x97"},
        {"escape sequence", "a\033[2Jb", "a?[2Jb"},
        {"line end, delete", "a\nb\x7f", "a?b?"},
        {"lone continuation", "a\x80z", "a?z"},
        {"cut short", "a\xe2\x80", "a??"},
        {"overlong slash", "\xc0\xaf", "??"},
        {"surrogate", "\xed\xa0\x80", "???"},
        {"beyond Unicode", "\xf4\x90\x80\x80", "????"},
        {"C1 control", "\xc2\x9b", "??"},
        {"turns the writing direction", "\xe2\x80\xae", "???"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_str out = {0};
        sl_text_clean(&out, rows[i].text);
        if (strcmp(sl_str_text(&out), rows[i].shown) != 0) {
            fail_msg("%s: \"%s\"", rows[i].name, sl_str_text(&out));
        }
        assert_int_equal(sl_text_columns(rows[i].text), sl_text_columns(rows[i].shown));
        sl_str_clear(&out);
    }
}

static void lines_break_at_blanks_or_inside_words_that_are_too_long(void **state)
{
    (void)state;
    static const struct {
        const char *name, *text;
        size_t columns;
        const char *line, *rest;
    } rows[] = {
        {"fits", "one two", 7, "one two", ""},
        {"at the blank", "one two", 6, "one", "two"},
        {"blank right after the line", "one two", 3, "one", "two"},
        {"long word is cut", "gearchange", 4, "gear", "change"},
        {"columns, not bytes", "\xc3\xa9\xc3\xa9 \xc3\xa9", 2, "\xc3\xa9\xc3\xa9", "\xc3\xa9"},
        {"several blanks", "one    two", 5, "one", "two"},
        {"a figure keeps its unit", "within 10 mph", 10, "within", "10 mph"},
        {"a figure too long to keep it", "10 mph", 4, "10 m", "ph"},
        {"blanks only", "   ", 2, "", ""},
        {"one column", "ab", 1, "a", "b"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const char *next = NULL;
        size_t length = sl_text_line(rows[i].text, rows[i].columns, &next);
        if (length != strlen(rows[i].line) || strncmp(rows[i].text, rows[i].line, length) != 0 ||
            strcmp(next, rows[i].rest) != 0) {
            fail_msg("%s: %zu bytes, then \"%s\"", rows[i].name, length, next);
        }
    }
}

static void facts_wrap_under_their_label(void **state)
{
    (void)state;
    struct sl_str out = {0};
    sl_text_fact(&out, "Next: ", "say the gear before you decide", 24);
    assert_string_equal(sl_str_text(&out), "Next: say the gear\n"
                                           "      before you decide\n");
    sl_str_clear(&out);
    sl_text_fact(&out, "Empty: ", "", 24);
    assert_string_equal(sl_str_text(&out), "Empty: \n");
    sl_str_clear(&out);
}

static void a_code_is_read_as_words(void **state)
{
    (void)state;
    struct sl_str out = {0};
    sl_text_code(&out, "went-into-traffic");
    sl_text_code(&out, "; ");
    sl_text_code(&out, "late");
    assert_string_equal(sl_str_text(&out), "went into traffic; late");
    sl_str_clear(&out);
}

static void rows_go_on_in_further_lines_and_end_without_blanks(void **state)
{
    (void)state;
    struct sl_cell cells[] = {{.text = "Gear", .columns = 6},
                              {.text = "9.5", .columns = 5, .right = true},
                              {.text = "second gear clutch up", .columns = 12},
                              {.text = "late", .columns = 5}};
    struct sl_str out = {0};
    sl_text_row(&out, cells, 4, false);
    assert_string_equal(sl_str_text(&out), "Gear      9.5  second gear   late\n"
                                           "               clutch up\n");
    sl_str_clear(&out);
}

static void colour_surrounds_the_word_and_never_replaces_it(void **state)
{
    (void)state;
    struct sl_str out = {0};
    sl_text_tinted(&out, "late", SL_TINT_BAD, true);
    assert_string_equal(sl_str_text(&out), "\033[31mlate\033[0m");
    sl_str_clear(&out);
    sl_text_tinted(&out, "late", SL_TINT_BAD, false);
    assert_string_equal(sl_str_text(&out), "late");
    sl_str_clear(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(control_characters_and_broken_utf8_are_shown_as_question_marks),
        cmocka_unit_test(lines_break_at_blanks_or_inside_words_that_are_too_long),
        cmocka_unit_test(facts_wrap_under_their_label),
        cmocka_unit_test(a_code_is_read_as_words),
        cmocka_unit_test(rows_go_on_in_further_lines_and_end_without_blanks),
        cmocka_unit_test(colour_surrounds_the_word_and_never_replaces_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
