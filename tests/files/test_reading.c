/* The phrases that are read aloud. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "core/str.h"
#include "files/models.h"
#include "files/path.h"
#include "files/reading.h"

static void phrases_are_read_a_line_each(void **state)
{
    (void)state;
    struct sl_reading reading = {0};
    assert_int_equal(sl_reading_parse("# what for\n\na b'c\nd\n", "x", &reading, NULL), SL_OK);
    assert_int_equal(reading.n, 2);
    assert_string_equal(reading.phrases[0], "a b'c");
    assert_string_equal(reading.phrases[1], "d");
    sl_reading_clear(&reading);
}

static void what_is_no_phrase_is_named_with_its_line(void **state)
{
    (void)state;
    static const char *const texts[] = {"a\nB\n",  "a\nb  c\n", "a\n b\n",
                                        "a\nb \n", "a\nb, c\n", "a\nb\t\n"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct sl_reading reading = {0};
        struct sl_error error = {0};
        assert_int_equal(sl_reading_parse(texts[i], "x", &reading, &error), SL_INVALID);
        assert_string_equal(error.where, "x:2");
        assert_int_equal(reading.n, 0);
        sl_error_clear(&error);
    }
    struct sl_reading none = {0};
    assert_int_equal(sl_reading_parse("# nothing\n", "x", &none, NULL), SL_INVALID);
}

static void there_is_an_end_to_phrases(void **state)
{
    (void)state;
    struct sl_str text = {0};
    struct sl_reading reading = {0};
    for (size_t i = 0; i < SL_READING_MOST; i++) {
        sl_str_add(&text, "a\n");
    }
    assert_int_equal(sl_reading_parse(sl_str_text(&text), "x", &reading, NULL), SL_OK);
    assert_int_equal(reading.n, SL_READING_MOST);
    sl_str_add(&text, "a\n");
    assert_int_equal(sl_reading_parse(sl_str_text(&text), "x", &reading, NULL), SL_INVALID);
    sl_reading_clear(&reading);
    sl_str_clear(&text);
}

/* The word, at the beginning of a line, with a blank behind it. */
static bool has_word(const char *dictionary, const char *word, size_t length)
{
    char *line = sl_strf("\n%.*s ", (int)length, word);
    bool has = strstr(dictionary, line) != NULL;
    free(line);
    return has;
}

static void the_shipped_phrases_are_a_dozen_and_can_be_pronounced(void **state)
{
    (void)state;
    struct sl_reading reading = {0};
    struct sl_str dictionary = {0};
    char *path = NULL;
    assert_int_equal(sl_reading_load(&reading, NULL), SL_OK);
    assert_int_equal(reading.n, 12);
    assert_int_equal(sl_models_path("pronunciations.dict", &path, NULL), SL_OK);
    assert_int_equal(sl_read_text_file(path, (size_t)1 << 20, &dictionary, NULL), SL_OK);
    for (size_t i = 0; i < reading.n; i++) {
        for (const char *at = reading.phrases[i]; *at != '\0';) {
            size_t length = strcspn(at, " ");
            if (!has_word(sl_str_text(&dictionary), at, length)) {
                fail_msg("'%.*s' has no pronunciation", (int)length, at);
            }
            at += length + (at[length] == ' ' ? 1 : 0);
        }
    }
    free(path);
    sl_str_clear(&dictionary);
    sl_reading_clear(&reading);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(phrases_are_read_a_line_each),
        cmocka_unit_test(what_is_no_phrase_is_named_with_its_line),
        cmocka_unit_test(there_is_an_end_to_phrases),
        cmocka_unit_test(the_shipped_phrases_are_a_dozen_and_can_be_pronounced),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
