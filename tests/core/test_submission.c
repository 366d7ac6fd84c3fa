/* When a mark that was handed in is not the one that the sound gives. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>

#include "core/str.h"
#include "core/submission.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static const struct {
    const char *name;
    struct sl_submission_run run;
    bool differs;
} rows[] = {
    {"the same",
     {.was_marked = true,
      .was_score = 80,
      .was_faults = 2,
      .marked = true,
      .score = 80,
      .faults = 2},
     false},
    {"rounded",
     {.was_marked = true, .was_score = 80.333, .marked = true, .score = 80.3333333},
     false},
    {"a better score",
     {.was_marked = true, .was_score = 80.4, .marked = true, .score = 80.3},
     true},
    {"a worse score", {.was_marked = true, .was_score = 80.2, .marked = true, .score = 80.3}, true},
    {"fewer faults",
     {.was_marked = true, .was_score = 80, .marked = true, .score = 80, .faults = 1},
     true},
    {"another end of the drive",
     {.was_marked = true, .marked = true, .driven = true, .was_came_of = 1, .came_of = 3},
     true},
    {"the same end of the drive",
     {.was_marked = true, .marked = true, .driven = true, .was_came_of = 3, .came_of = 3},
     false},
    {"none handed in", {.marked = true, .score = 80}, false},
    {"not marked by us", {.was_marked = true, .was_score = 80}, false},
};

static void a_mark_differs_by_its_score_or_its_faults(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        if (sl_submission_differs(&rows[i].run) != rows[i].differs) {
            fail_msg("%s", rows[i].name);
        }
    }
}

static void marks_that_differ_are_counted_and_all_is_released(void **state)
{
    (void)state;
    struct sl_submission submission = {.bag = sl_strdup("a.zip"), .learner = sl_strdup("Ada")};
    submission.runs = calloc(COUNT_OF(rows), sizeof *submission.runs);
    assert_non_null(submission.runs);
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        submission.runs[submission.n_runs] = rows[i].run;
        submission.runs[submission.n_runs++].file = sl_strdup(rows[i].name);
    }
    assert_int_equal(sl_submission_n_different(&submission), 4);
    sl_submission_clear(&submission); /* LeakSanitizer watches */
    assert_null(submission.runs);
    assert_int_equal(submission.n_runs, 0);
}

static void a_bag_without_a_name_goes_by_its_file(void **state)
{
    (void)state;
    char path[] = "in/week-3.zip";
    char file[] = "b.zip";
    char ada[] = "Ada";
    assert_string_equal(sl_submission_name(&(struct sl_submission){.bag = path}), "week-3.zip");
    assert_string_equal(sl_submission_name(&(struct sl_submission){.bag = file}), "b.zip");
    assert_string_equal(sl_submission_name(&(struct sl_submission){.bag = path, .learner = ada}),
                        "Ada");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_mark_differs_by_its_score_or_its_faults),
        cmocka_unit_test(marks_that_differ_are_counted_and_all_is_released),
        cmocka_unit_test(a_bag_without_a_name_goes_by_its_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
