/* Faults that rest on phrases which are not sure. What is sure enough was chosen here, on generated
 * runs of the tuning voices; the rows lie on both sides of it. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/fault_rows.h"

#define LEFT_OPEN "mirrors interior left; signal left; speed 10; "

static void a_setting_is_wrong_only_when_it_was_heard_surely(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"sure", false, T_LEFT, LEFT_OPEN "gear 1 up %86; decide go", "gear wrong-setting"},
        {"not sure", false, T_LEFT, LEFT_OPEN "gear 1 up %84; decide go", "gear unclear"},
        {"the phrase that is sure is wrong as well", false, T_LEFT,
         LEFT_OPEN "gear 1 %95; gear down %60; decide go", "gear wrong-setting"},
        {"the phrase that is sure is right", false, T_LEFT,
         LEFT_OPEN "gear 2 %95; gear down %60; decide go", ""},
        {"right answers need not be as sure", false, T_LEFT, LEFT_OPEN "gear 2 up %50; decide go",
         ""},
    };
    CHECK_ROWS(rows);
}

static void words_beside_may_have_been_the_mirror_that_was_not_heard(void **state)
{
    (void)state;
#define REST "signal left; speed 10; gear 2 up; decide go"
    static const struct row rows[] = {
        {"nothing beside it", false, T_LEFT, "mirrors interior; " REST, "mirrors wrong-setting"},
        {"after it", false, T_LEFT, "mirrors interior; ?um; " REST, "mirrors unclear"},
        {"before it", false, T_LEFT, "?um; mirrors interior; " REST, "mirrors unclear"},
        {"beside another step", false, T_LEFT,
         "mirrors interior; signal left; ?um; speed 10; gear 2 "
         "up; decide go",
         "mirrors wrong-setting"},
        {"a whole set that is right", false, T_LEFT, "mirrors interior left; ?um; " REST, ""},
        {"said clearly again after it", false, T_LEFT, "mirrors interior; ?um; mirrors left; " REST,
         ""},
    };
    CHECK_ROWS(rows);
}

static void what_is_not_clear_may_have_been_the_step_that_was_not_heard(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"taken for another step", false, T_LEFT, LEFT_OPEN "?mirrors left; decide go",
         "gear unclear"},
        {"in the place of another step", false, T_LEFT,
         "mirrors interior left; signal left; ?mirrors left; speed 10; decide go", "gear missed"},
        {"clear, it was that other step", false, T_LEFT,
         LEFT_OPEN "mirrors interior left; decide go", "mirrors extra, gear missed"},
    };
    CHECK_ROWS(rows);
}

static void order_and_extras_rest_on_what_was_surely_said(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"an extra step, sure", false, T_LEFT, LEFT_OPEN "gear 2 up; speed 10 %91; decide go",
         "speed extra"},
        {"an extra step, not sure", false, T_LEFT, LEFT_OPEN "gear 2 up; speed 10 %89; decide go",
         ""},
        {"out of order, sure", false, T_LEFT,
         "signal left %80; mirrors interior left; speed 10; gear 2 up; decide go",
         "signal out-of-order signal-after-mirrors"},
        {"out of order, not sure", false, T_LEFT,
         "signal left %70; mirrors interior left; speed 10; gear 2 up; decide go",
         "signal unclear"},
        {"out of order with a step that is not sure", false, T_LEFT,
         "signal left; mirrors interior left %70; speed 10; gear 2 up; decide go",
         "mirrors unclear"},
        {"late, sure", true, T_LEFT,
         "mirrors interior left @4; signal left @8; speed 10 @20 %80; gear 2 up @21.5 %80; "
         "decide go @24 %80",
         "speed late, gear late"},
        {"late, not sure", true, T_LEFT,
         "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @40 %60",
         "decide unclear"},
    };
    CHECK_ROWS(rows);
}

static void in_sound_that_hides_words_nothing_that_was_heard_is_a_fault(void **state)
{
    (void)state;
    struct run run = mark("signal left; mirrors interior right; speed 10; gear 1 up; speed 10; "
                          "decide go",
                          false, T_LEFT);
    struct sl_heard_list heard =
        script_heard(&run.routine, "signal left %100; mirrors interior right %100; speed 10; "
                                   "gear 1 up %100; speed 10 %100; decide go");
    const struct sl_mark_options noisy = {.hiding = SL_NOTICE_NOISY};
    assert_int_equal(remark(&run, &heard, &noisy, NULL), SL_OK);
    char *faults = script_faults(&run.routine, &run.mark);
    assert_null(strstr(faults, "wrong-setting"));
    assert_null(strstr(faults, "extra"));
    assert_null(strstr(faults, "out-of-order"));
    assert_non_null(strstr(faults, "gear unclear"));
    free(faults);
    for (size_t i = 0; i < heard.count; i++) {
        assert_false(heard.items[i].unclear); /* what was given is left as it was */
        heard.items[i].settled = SL_SETTLED_RIGHT;
    }
    assert_int_equal(remark(&run, &heard, &noisy, NULL), SL_OK);
    faults = script_faults(&run.routine, &run.mark); /* what the instructor heard stands */
    assert_string_equal(faults, "mirrors wrong-setting, signal out-of-order "
                                "signal-after-mirrors, speed extra, gear wrong-setting");
    free(faults);
    sl_heard_clear(&heard);
    end_run(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_setting_is_wrong_only_when_it_was_heard_surely),
        cmocka_unit_test(words_beside_may_have_been_the_mirror_that_was_not_heard),
        cmocka_unit_test(what_is_not_clear_may_have_been_the_step_that_was_not_heard),
        cmocka_unit_test(order_and_extras_rest_on_what_was_surely_said),
        cmocka_unit_test(in_sound_that_hides_words_nothing_that_was_heard_is_a_fault),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
