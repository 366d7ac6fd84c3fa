#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/heard.h"

#include <stdio.h>

static void the_text_is_copied_and_order_is_kept(void **state)
{
    (void)state;
    struct sl_heard_list list = {0};
    char text[32];
    for (int i = 0; i < 100; i++) {
        (void)snprintf(text, sizeof text, "phrase %d", i);
        struct sl_heard heard = {.phase = (size_t)i, .text = text, .start_s = i};
        assert_int_equal(sl_heard_add(&list, &heard, NULL), SL_OK);
    }
    assert_int_equal(list.count, 100);
    for (int i = 0; i < 100; i++) {
        (void)snprintf(text, sizeof text, "phrase %d", i);
        assert_string_equal(list.items[i].text, text);
        assert_int_equal(list.items[i].phase, i);
    }
    sl_heard_clear(&list);
    assert_null(list.items);
    assert_int_equal(list.count, 0);
}

static void every_field_arrives(void **state)
{
    (void)state;
    struct sl_heard_list list = {0};
    struct sl_error error = {0};
    char text[] = "second gear";
    struct sl_heard heard = {.phase = 3,
                             .text = text,
                             .start_s = 1.25,
                             .end_s = 2.5,
                             .confidence = 0.75,
                             .unclear = true,
                             .settings = {.gear = 2}};
    assert_int_equal(sl_heard_add(&list, &heard, &error), SL_OK);
    assert_ptr_not_equal(list.items[0].text, text);
    assert_true(list.items[0].start_s == 1.25 && list.items[0].end_s == 2.5);
    assert_true(list.items[0].confidence == 0.75 && list.items[0].unclear);
    assert_true(sl_settings_equal(&list.items[0].settings, &heard.settings));
    assert_null(error.what);
    sl_heard_clear(&list);
}

static void no_text_is_kept_as_an_empty_one(void **state)
{
    (void)state;
    struct sl_heard_list list = {0};
    struct sl_heard heard = {0};
    assert_int_equal(sl_heard_add(&list, &heard, NULL), SL_OK);
    assert_string_equal(list.items[0].text, "");
    sl_heard_clear(&list);
}

static void an_item_of_the_list_may_be_added_again(void **state)
{
    (void)state;
    struct sl_heard_list list = {0};
    char text[] = "mirrors";
    struct sl_heard heard = {.text = text, .start_s = 4};
    assert_int_equal(sl_heard_add(&list, &heard, NULL), SL_OK);
    for (int i = 0; i < 40; i++) { /* past several times of growing */
        assert_int_equal(sl_heard_add(&list, &list.items[0], NULL), SL_OK);
    }
    assert_int_equal(list.count, 41);
    assert_string_equal(list.items[40].text, "mirrors");
    assert_true(list.items[40].start_s == 4);
    sl_heard_clear(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_text_is_copied_and_order_is_kept),
        cmocka_unit_test(every_field_arrives),
        cmocka_unit_test(no_text_is_kept_as_an_empty_one),
        cmocka_unit_test(an_item_of_the_list_may_be_added_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
