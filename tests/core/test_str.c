#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

static void an_empty_string_is_an_empty_text(void **state)
{
    (void)state;
    struct sl_str str = {0};
    assert_string_equal(sl_str_text(&str), "");
    assert_null(str.text); /* nothing is held for it */
    char *text = sl_str_take(&str);
    assert_string_equal(text, "");
    free(text);
    sl_str_clear(&str);
}

static void text_is_added_at_the_end(void **state)
{
    (void)state;
    struct sl_str str = {0};
    sl_str_add(&str, "second");
    sl_str_add(&str, "");
    sl_str_addf(&str, " gear at %d %s", 10, "mph");
    sl_str_add_bytes(&str, ", clutch up and more", 11);
    assert_string_equal(sl_str_text(&str), "second gear at 10 mph, clutch up");
    assert_int_equal(str.length, strlen(str.text));
    sl_str_clear(&str);
    assert_true(str.text == NULL && str.length == 0 && str.room == 0 && !str.failed);
}

static void bytes_may_hold_zeros(void **state)
{
    (void)state;
    struct sl_str str = {0};
    sl_str_add_bytes(&str, "a\0b", 3);
    assert_int_equal(str.length, 3);
    assert_memory_equal(str.text, "a\0b", 4);
    sl_str_clear(&str);
}

static void a_long_string_grows_and_stays_whole(void **state)
{
    (void)state;
    struct sl_str str = {0};
    size_t grown = 0;
    for (int i = 0; i < 5000; i++) {
        size_t before = str.room;
        sl_str_addf(&str, "%04d ", i);
        assert_true(str.room > str.length);
        grown += str.room != before ? 1 : 0;
    }
    assert_int_equal(grown, 10); /* 64, 128, ... 32768 bytes */
    assert_int_equal(str.length, 25000);
    for (int i = 0; i < 5000; i++) {
        assert_int_equal(strtol(str.text + (size_t)i * 5, NULL, 10), i);
    }
    char *text = sl_str_take(&str);
    assert_int_equal(strlen(text), 25000);
    assert_true(str.text == NULL && str.length == 0);
    free(text);
}

static void one_long_text_fits_at_once(void **state)
{
    (void)state;
    struct sl_str str = {0};
    char *text = sl_strf("%*s", 3000, "x");
    assert_int_equal(strlen(text), 3000);
    sl_str_add(&str, text);
    sl_str_add(&str, text);
    assert_int_equal(str.length, 6000);
    assert_string_equal(str.text + 3000, text);
    sl_str_clear(&str);
    free(text);
}

static void more_than_memory_fails_and_keeps_what_was_there(void **state)
{
    (void)state;
    struct sl_str str = {0};
    sl_str_add(&str, "kept");
    sl_str_add_bytes(&str, "", SIZE_MAX / 2);
    assert_true(str.failed);
    sl_str_add(&str, " and more");
    sl_str_addf(&str, "%d", 7);
    assert_string_equal(sl_str_text(&str), "kept");
    assert_null(sl_str_take(&str)); /* it is not whole, so nobody gets it */
    assert_false(str.failed);
    sl_str_add(&str, "anew");
    assert_string_equal(sl_str_text(&str), "anew");
    sl_str_clear(&str);
}

static void a_copy_is_another_text(void **state)
{
    (void)state;
    char text[] = "mirrors";
    char *copy = sl_strdup(text);
    assert_ptr_not_equal(copy, text);
    text[0] = 'M';
    assert_string_equal(copy, "mirrors");
    free(copy);
    assert_null(sl_strdup(NULL));
    char *formatted = sl_strf("%s-%03d", text, 7);
    assert_string_equal(formatted, "Mirrors-007");
    free(formatted);
}

static void an_array_grows_by_doubling(void **state)
{
    (void)state;
    int *items = NULL;
    size_t room = 0;
    size_t grown = 0;
    for (size_t count = 0; count < 1000; count++) {
        size_t before = room;
        int *larger = sl_grow(items, count, &room, sizeof *items);
        assert_non_null(larger);
        items = larger;
        assert_true(room > count);
        grown += room != before ? 1 : 0;
        items[count] = (int)count;
    }
    assert_int_equal(grown, 8); /* 8, 16, ... 1024 */
    for (size_t i = 0; i < 1000; i++) {
        assert_int_equal(items[i], i);
    }
    free(items);
}

static void an_array_beyond_memory_is_left_as_it_was(void **state)
{
    (void)state;
    char *items = malloc(4);
    assert_non_null(items);
    size_t room = SIZE_MAX / 4;
    assert_null(sl_grow(items, room, &room, 16));
    assert_int_equal(room, SIZE_MAX / 4);
    free(items);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_empty_string_is_an_empty_text),
        cmocka_unit_test(text_is_added_at_the_end),
        cmocka_unit_test(bytes_may_hold_zeros),
        cmocka_unit_test(a_long_string_grows_and_stays_whole),
        cmocka_unit_test(one_long_text_fits_at_once),
        cmocka_unit_test(more_than_memory_fails_and_keeps_what_was_there),
        cmocka_unit_test(a_copy_is_another_text),
        cmocka_unit_test(an_array_grows_by_doubling),
        cmocka_unit_test(an_array_beyond_memory_is_left_as_it_was),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
