#include "report/class_text.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "core/drive.h"
#include "core/str.h"
#include "support/class_scene.h"
#include "support/routine_fixture.h"

static char *report(const struct sl_class *group, bool colour)
{
    struct sl_str out = {0};
    const struct sl_style style = {.width = 100, .colour = colour};
    sl_report_class(&out, group, &style);
    return sl_str_take(&out);
}

static void check_has(const char *text, const char *wanted)
{
    if (strstr(text, wanted) == NULL) {
        fail_msg("\"%s\" is not in:\n%s", wanted, text);
    }
}

/* The words of the line that begins so. */
static void check_line(const char *text, const char *begin, const char *words)
{
    const char *at = strstr(text, begin);
    assert_non_null(at);
    char *line = sl_strf("%.*s", (int)strcspn(at, "\n"), at);
    struct sl_str found = {0};
    for (char *word = strtok(line, " "); word != NULL; word = strtok(NULL, " ")) {
        sl_str_addf(&found, "%s%s", found.length == 0 ? "" : " ", word);
    }
    assert_string_equal(sl_str_text(&found), words);
    sl_str_clear(&found);
    free(line);
}

static void each_bag_has_a_line_and_what_is_wrong_is_said(void **state)
{
    (void)state;
    struct class_scene scene;
    class_scene_fill(&scene);
    char *text = report(&scene.group, false);
    check_has(text, "Homework: Week 3: <T> & \"lanes\"");
    check_line(text, "Ada ", "Ada 2026-03-14 2 70 1 left 1"); /* 70: the mean of 80 and 60.25 */
    check_line(text, "x.zip ", "x.zip 0 - 2 left 0");
    check_has(text,
              "in/ada.zip: 002.flac: handed in as 100 of 100 with faults: 0; marked from the");
    assert_null(strstr(text, "001.flac: handed in")); /* the same to two decimals */
    check_has(text, "in/x.zip: 001.flac: cannot be marked: the file is");
    check_has(text, "Bags that were refused: 1 of 3.");
    assert_null(strchr(text, '\x1b')); /* neither ours nor theirs */
    free(text);
}

static void a_run_that_does_not_count_says_why(void **state)
{
    (void)state;
    struct class_scene scene;
    class_scene_fill(&scene);
    scene.ada[1].was_score = scene.ada[1].score;
    scene.ada[1].was_faults = scene.ada[1].faults;
    char *text = report(&scene.group, false);
    check_has(text, "002.flac: does not count: the score is below that of the set.");
    free(text);
}

static void what_came_of_a_drive_is_said(void **state)
{
    (void)state;
    struct class_scene scene;
    class_scene_fill(&scene);
    scene.ada[0].driven = scene.ada[1].driven = true;
    scene.ada[0].came_of = SL_CAME_OF(SL_GEAR_LATE) | SL_CAME_OF(SL_WENT_INTO_TRAFFIC);
    scene.ada[0].was_came_of = scene.ada[0].came_of;
    char *text = report(&scene.group, false);
    check_has(text, "001.flac: the drive: gear late, went into traffic.");
    free(text);
    scene.ada[0].objection = "it is odd";
    scene.ada[1].was_came_of = SL_CAME_OF(SL_JOLT);
    text = report(&scene.group, false);
    check_has(text, "does not count: it is odd. The drive: gear late, went into");
    check_has(text, "The drive: as planned; handed in: jolt.");
    free(text);
}

static void what_to_teach_next_and_whom_is_said(void **state)
{
    (void)state;
    struct class_scene scene;
    struct sl_routine routine = fixture_routine();
    struct sl_class_grid grid = {0};
    struct sl_tally_step right[FIXTURE_PHASES] = {0};
    struct sl_tally_step late[FIXTURE_PHASES] = {[GEAR] = {.faults = {[SL_FAULT_LATE] = 1}}};
    struct sl_tally_run runs[] = {{.steps = right, .n_steps = FIXTURE_PHASES},
                                  {.steps = late, .n_steps = FIXTURE_PHASES}};
    assert_int_equal(sl_class_grid_add(&grid, "Ada", &runs[0], NULL), SL_OK);
    assert_int_equal(sl_class_grid_add(&grid, "Ada", &runs[1], NULL), SL_OK);
    assert_int_equal(sl_class_grid_add(&grid, "Ben", &runs[0], NULL), SL_OK);
    class_scene_fill(&scene);
    scene.tally.runs = (struct sl_tally_run[]){
        {.file = "a", .failure = "none"}}; /* there is something to add up */
    scene.tally.n_runs = 1;
    scene.group.grid = &grid;
    scene.group.routine = &routine;
    char *text = report(&scene.group, false);
    check_has(text, "Teach next: Gear, which was wrong in 1 of 3 runs, most often late.");
    check_has(text, "Who:        Ada (1 of 2 right)\n");
    free(text);
    sl_class_grid_clear(&grid);
    sl_routine_clear(&routine);
}

static void colour_marks_what_differs_and_what_is_done(void **state)
{
    (void)state;
    struct class_scene scene;
    class_scene_fill(&scene);
    scene.submissions[0].state.counted[0] = 2;
    char *text = report(&scene.group, true);
    check_has(text, "done");
    check_has(text, "\x1b[");
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_bag_has_a_line_and_what_is_wrong_is_said),
        cmocka_unit_test(a_run_that_does_not_count_says_why),
        cmocka_unit_test(what_came_of_a_drive_is_said),
        cmocka_unit_test(what_to_teach_next_and_whom_is_said),
        cmocka_unit_test(colour_marks_what_differs_and_what_is_done),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
