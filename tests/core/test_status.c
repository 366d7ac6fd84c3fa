#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/status.h"

#include <string.h>

static void every_status_has_its_name(void **state)
{
    (void)state;
    static const struct {
        enum sl_status status;
        const char *name;
    } rows[] = {{SL_OK, "ok"},
                {SL_INVALID, "invalid"},
                {SL_NOT_FOUND, "not-found"},
                {SL_IO, "io"},
                {SL_FORMAT, "format"},
                {SL_TOO_LARGE, "too-large"},
                {SL_UNSUPPORTED, "unsupported"},
                {SL_DEVICE, "device"},
                {SL_NO_MEMORY, "no-memory"},
                {(enum sl_status)99, "unknown"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_string_equal(sl_status_name(rows[i].status), rows[i].name);
    }
}

static void an_error_carries_what_where_and_mend(void **state)
{
    (void)state;
    struct sl_error error = {0};
    const char where[] = "junction.yaml:3:7";
    assert_int_equal(sl_fail(&error, SL_INVALID, where, "choose 1 to 6", "gear is %d", 9),
                     SL_INVALID);
    assert_ptr_not_equal(error.where, where); /* it is a copy */
    assert_int_equal(error.status, SL_INVALID);
    assert_string_equal(error.what, "gear is 9");
    assert_string_equal(error.where, "junction.yaml:3:7");
    assert_string_equal(error.mend, "choose 1 to 6");
    sl_error_clear(&error);
    assert_int_equal(error.status, SL_OK);
    assert_true(error.what == NULL && error.where == NULL && error.mend == NULL);
}

static void what_is_not_said_stays_null(void **state)
{
    (void)state;
    struct sl_error error = {0};
    assert_int_equal(sl_fail(&error, SL_IO, NULL, NULL, "%s", ""), SL_IO);
    assert_string_equal(error.what, "");
    assert_null(error.where);
    assert_null(error.mend);
    sl_error_clear(&error);
}

static void a_new_failure_replaces_the_old_one(void **state)
{
    (void)state;
    struct sl_error error = {0};
    (void)sl_fail(&error, SL_IO, "a", "b", "c");
    (void)sl_fail(&error, SL_FORMAT, NULL, NULL, "d");
    assert_int_equal(error.status, SL_FORMAT);
    assert_string_equal(error.what, "d");
    assert_null(error.where);
    sl_error_clear(&error);
}

static void the_old_texts_may_be_used_for_the_new_failure(void **state)
{
    (void)state;
    struct sl_error error = {0};
    (void)sl_fail(&error, SL_INVALID, "line 3", "mend it", "bad gear");
    (void)sl_fail(&error, error.status, error.where, error.mend, "in the file: %s", error.what);
    assert_string_equal(error.what, "in the file: bad gear");
    assert_string_equal(error.where, "line 3");
    assert_string_equal(error.mend, "mend it");
    (void)sl_fail(&error, error.status, error.what, error.where, "%s", error.mend);
    assert_string_equal(error.what, "mend it");
    assert_string_equal(error.where, "in the file: bad gear");
    assert_string_equal(error.mend, "line 3");
    sl_error_clear(&error);
}

static void a_caller_may_want_the_status_only(void **state)
{
    (void)state;
    assert_int_equal(sl_fail(NULL, SL_NOT_FOUND, "a", "b", "%d", 1), SL_NOT_FOUND);
    assert_int_equal(sl_fail_memory(NULL), SL_NO_MEMORY);
    sl_error_clear(NULL);
}

static void memory_that_ran_out_says_nothing_more(void **state)
{
    (void)state;
    struct sl_error error = {0};
    (void)sl_fail(&error, SL_IO, "a", "b", "c");
    assert_int_equal(sl_fail_memory(&error), SL_NO_MEMORY);
    assert_int_equal(error.status, SL_NO_MEMORY);
    assert_true(error.what == NULL && error.where == NULL && error.mend == NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_status_has_its_name),
        cmocka_unit_test(an_error_carries_what_where_and_mend),
        cmocka_unit_test(what_is_not_said_stays_null),
        cmocka_unit_test(a_new_failure_replaces_the_old_one),
        cmocka_unit_test(the_old_texts_may_be_used_for_the_new_failure),
        cmocka_unit_test(a_caller_may_want_the_status_only),
        cmocka_unit_test(memory_that_ran_out_says_nothing_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
