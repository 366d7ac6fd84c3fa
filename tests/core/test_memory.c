/*
 * Memory that runs out: every allocation of a piece of work is made to fail in turn
 * (support/failing_memory.h); the sanitizer sees what is not given back.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/heard.h"
#include "core/phrasebook.h"
#include "core/str.h"
#include "support/failing_memory.h"

#include <stdlib.h>

static struct sl_slot_value values[] = {{.words = (char *)"left", .settings = {.gear = 1}},
                                        {.words = (char *)"walking pace"}};
static struct sl_slot slots[] = {{.name = (char *)"n", .values = values, .n_values = 2}};
static struct sl_phrase phrases[] = {{.pattern = (char *)"[check] (a|b|c d e f g) <n> [please]"},
                                     {.pattern = (char *)"[h|i] j k l m"}};

/* Runs `work` with its first, second, ... allocation failing until it comes through; returns how
 * many times it did not. */
static size_t try_all(enum sl_status (*work)(struct sl_error *error))
{
    for (size_t n = 0;; n++) {
        struct sl_error error = {0};
        allowed = (long)n;
        enum sl_status status = work(&error);
        bool failed = allowed < 0;
        allowed = -1;
        sl_error_clear(&error);
        if (!failed) {
            assert_int_equal(status, SL_OK);
            return n;
        }
        assert_int_equal(status, SL_NO_MEMORY);
    }
}

static enum sl_status compile(struct sl_error *error)
{
    struct sl_phrasebook book = {.phrases = phrases, .n_phrases = 2, .slots = slots, .n_slots = 1};
    enum sl_status status = sl_phrasebook_compile(&book, error);
    book.phrases = NULL; /* constants, not the book's own */
    book.n_phrases = 0;
    book.slots = NULL;
    book.n_slots = 0;
    sl_phrasebook_clear(&book);
    return status;
}

static void compiling_gives_everything_back(void **state)
{
    (void)state;
    assert_true(try_all(compile) > 20);
}

static struct sl_phrasebook compiled = {
    .phrases = phrases, .n_phrases = 2, .slots = slots, .n_slots = 1};

static enum sl_status match(struct sl_error *error)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    enum sl_status status =
        sl_phrasebook_match(&compiled,
                            "Check a walking pace, j k l m! a left a left a left a left a left a "
                            "left a left a left a left please",
                            &matches, &n_matches, error);
    if (status == SL_OK) {
        assert_int_equal(n_matches, 11);
    } else {
        assert_null(matches);
    }
    free(matches);
    return status;
}

static void matching_gives_everything_back(void **state)
{
    (void)state;
    assert_int_equal(sl_phrasebook_compile(&compiled, NULL), SL_OK);
    assert_true(try_all(match) > 5);
    compiled.phrases = NULL;
    compiled.n_phrases = 0;
    compiled.slots = NULL;
    compiled.n_slots = 0;
    sl_phrasebook_clear(&compiled);
}

static enum sl_status hear(struct sl_error *error)
{
    struct sl_heard_list list = {0};
    struct sl_heard heard = {.text = (char *)"mirrors"};
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < 20 && status == SL_OK; i++) {
        status = sl_heard_add(&list, &heard, error);
        assert_int_equal(list.count, status == SL_OK ? i + 1 : i);
    }
    sl_heard_clear(&list);
    return status;
}

static void a_phrase_that_does_not_fit_is_not_added(void **state)
{
    (void)state;
    assert_int_equal(try_all(hear), 20 + 3); /* the texts, and the list three times */
}

static enum sl_status write(struct sl_error *error)
{
    struct sl_str str = {0};
    sl_str_add(&str, "mirrors");
    bool first = !str.failed;
    sl_str_addf(&str, "%200s", "signal");
    assert_true(!first || str.failed || str.length == 207);
    assert_true(!first || str.text[0] == 'm'); /* what was there stays */
    char *text = sl_str_take(&str);
    enum sl_status status = text == NULL ? sl_fail_memory(error) : SL_OK;
    free(text);
    return status;
}

static void a_string_that_does_not_fit_is_not_handed_over(void **state)
{
    (void)state;
    assert_int_equal(try_all(write), 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(compiling_gives_everything_back),
        cmocka_unit_test(matching_gives_everything_back),
        cmocka_unit_test(a_phrase_that_does_not_fit_is_not_added),
        cmocka_unit_test(a_string_that_does_not_fit_is_not_handed_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
