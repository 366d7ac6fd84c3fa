#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "speech/pronunciation.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void variants_are_found_in_the_order_of_the_file(void **state)
{
    (void)state;
    struct sl_pronunciations list = {0};
    const char *text = "# heading\n"
                       "right R AY T\n"
                       "\n"
                       "clutch K L AH CH  # strut\n"
                       "mirror\tM IH R ER\r\n"
                       "clutch K L UH CH\n";
    assert_int_equal(sl_pronunciations_parse(text, "p.dict", &list, NULL), SL_OK);
    assert_int_equal(list.count, 4);
    size_t first = 99;
    assert_int_equal(sl_pronunciations_find(&list, "clutch", &first), 2);
    assert_string_equal(list.items[first].phones, "K L AH CH");
    assert_string_equal(list.items[first + 1].phones, "K L UH CH");
    assert_int_equal(list.items[first + 1].line, 6);
    assert_int_equal(sl_pronunciations_find(&list, "mirror", &first), 1);
    assert_string_equal(list.items[first].phones, "M IH R ER");
    first = 99;
    assert_int_equal(sl_pronunciations_find(&list, "gear", &first), 0);
    assert_int_equal(first, 99);
    sl_pronunciations_clear(&list);
}

static void errors_name_the_line(void **state)
{
    (void)state;
    static const struct {
        const char *name, *text, *where, *what;
    } rows[] = {
        {"unknown phone", "gear G IH R\nleft L EH F TT\n", "p.dict:2", "TT"},
        {"phone with stress", "gear G IH1 R\n", "p.dict:1", "IH1"},
        {"no phone", "\n\ngear\n", "p.dict:3", "gear"},
        {"comment instead of phones", "gear # G IH R\n", "p.dict:1", "gear"},
        {"capital letter", "Gear G IH R\n", "p.dict:1", "Gear"},
        {"digit", "ten T EH N\n10 T EH N", "p.dict:2", "10"},
        {"same twice", "to T UW\nup AH P\nto T  UW\n", "p.dict:3", "to"},
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        struct sl_pronunciations list = {0};
        struct sl_error error = {0};
        print_message("%s\n", rows[i].name);
        assert_int_equal(sl_pronunciations_parse(rows[i].text, "p.dict", &list, &error),
                         SL_INVALID);
        assert_string_equal(error.where, rows[i].where);
        assert_non_null(strstr(error.what, rows[i].what));
        assert_non_null(error.mend);
        assert_int_equal(list.count, 0);
        sl_error_clear(&error);
    }
}

static void a_failed_parse_leaves_the_list_alone(void **state)
{
    (void)state;
    struct sl_pronunciations list = {0};
    assert_int_equal(sl_pronunciations_parse("up AH P\n", "p", &list, NULL), SL_OK);
    assert_int_equal(sl_pronunciations_parse("down D\nup\n", "p", &list, NULL), SL_INVALID);
    assert_int_equal(list.count, 1);
    sl_pronunciations_clear(&list);
}

static void a_file_that_cannot_be_used_is_refused(void **state)
{
    (void)state;
    struct sl_pronunciations list = {0};
    struct sl_error error = {0};
    assert_int_equal(sl_pronunciations_load(SL_BUILD_DIR "/none.dict", &list, &error),
                     SL_NOT_FOUND);
    assert_string_equal(error.where, SL_BUILD_DIR "/none.dict");

    char *path = sl_strf("%s/zeros.dict", SL_BUILD_DIR);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_int_equal(fwrite("up AH P\n\0\0", 1, 10, file), 10);
    assert_int_equal(fclose(file), 0);
    assert_int_equal(sl_pronunciations_load(path, &list, &error), SL_FORMAT);
    (void)remove(path);
    free(path);
    sl_error_clear(&error);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(variants_are_found_in_the_order_of_the_file),
        cmocka_unit_test(errors_name_the_line),
        cmocka_unit_test(a_failed_parse_leaves_the_list_alone),
        cmocka_unit_test(a_file_that_cannot_be_used_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
