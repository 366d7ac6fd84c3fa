#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/progress_text.h"
#include "report/text.h"
#include "support/routine_fixture.h"

#define MOST 40

/* The gear is late in the last `n_late` of `n` runs; all are rehearsed at a level. */
static struct sl_progress course(size_t n, size_t n_late, enum sl_prompting prompting)
{
    struct sl_progress_run runs[MOST];
    struct sl_progress progress;
    assert_true(n <= MOST);
    for (size_t i = 0; i < n; i++) {
        runs[i] = (struct sl_progress_run){.prompting = prompting, .rolling_s = 6.25};
        for (size_t phase = 0; phase < 5; phase++) {
            runs[i].steps[phase].after_due_s = -0.5;
        }
        if (i + n_late >= n) {
            runs[i].steps[GEAR].kinds = 1U << SL_FAULT_LATE;
            runs[i].steps[GEAR].after_due_s = 3.5;
        }
    }
    assert_int_equal(sl_progress_make(runs, n, 5, &progress, NULL), SL_OK);
    return progress;
}

static char *report(const struct sl_progress *progress, const struct sl_style *style)
{
    struct sl_str out = {0};
    struct sl_routine routine = fixture_routine();
    struct sl_course recall = {0};
    for (size_t i = 0; i < 10; i++) {
        sl_course_add(&recall, i < 9);
    }
    sl_course_end(&recall, true);
    const struct sl_progress_view view = {"Ana", &routine, progress, &recall};
    sl_report_progress(&out, &view, style);
    sl_routine_clear(&routine);
    return sl_str_take(&out);
}

static void check_has(const char *text, const char *wanted)
{
    if (strstr(text, wanted) == NULL) {
        fail_msg("\"%s\" is not in:\n%s", wanted, text);
    }
}

static void a_report_says_what_is_next_and_how_each_thing_went(void **state)
{
    (void)state;
    struct sl_progress progress = course(40, 20, SL_PROMPTING_PARTIAL);
    char *text = report(&progress, &(struct sl_style){.width = 100});
    check_has(text, "Learner:   Ana");
    check_has(text, "40 of fixture. \"Lately\"");
    check_has(text, "Gear: late in 20 of the last 20 runs, the commonest fault.");
    check_has(text, "were early or late: go back to full");
    check_has(text, "6.2 s were kept for looking and deciding lately");
    check_has(text, "9 of 10 (60 to 98 %) answers right lately");
    /* 0 and 20 of 20: Newcombe 1998 has 0.0000 to 0.1611 for none of 20. */
    check_has(text, "0 of 20 (0 to 16 %)     20 of 20       worse");
    check_has(text, "late                20 of 20 (84 to 100 %)");
    check_has(text, "+3.5 to +3.5");
    check_has(text, "Practise parked or at home");
    assert_null(strchr(text, '\x1b'));
    free(text);
    progress.n_driven = 3;
    text = report(&progress, &(struct sl_style){.width = 100});
    check_has(text, "40 of fixture, 3 of them driven. ");
    free(text);
    progress.next.fault = SL_FAULT_WRONG_SETTING;
    progress.faults[SL_FAULT_WRONG_SETTING] = progress.faults[SL_FAULT_LATE];
    text = report(&progress, &(struct sl_style){.width = 100});
    check_has(text, "Gear: wrong setting in 20 of the last 20 runs");
    check_has(text, "\nwrong setting       20 of 20");
    free(text);
}

/* Answers of the recall drill alone. */
static void recall_without_a_run_is_told(void **state)
{
    (void)state;
    struct sl_progress progress = course(0, 0, SL_PROMPTING_FULL);
    char *text = report(&progress, &(struct sl_style){.width = 100});
    check_has(text, "No run of Ana with the routine");
    check_has(text, "9 of 10 (60 to 98 %) answers right lately");
    assert_null(strstr(text, "Phase"));
    free(text);
    text = report(&progress, &(struct sl_style){.width = 100, .brief = true});
    assert_null(strstr(text, "Recall"));
    free(text);
}

static void ready_is_said_with_the_level_that_follows(void **state)
{
    (void)state;
    struct sl_progress progress = course(10, 0, SL_PROMPTING_FULL);
    char *text = report(&progress, &(struct sl_style){.width = 80});
    check_has(text, "2 clean runs in a row at full: you are ready for partial.");
    check_has(text, "practised least (runs so far:");
    assert_null(strstr(text, "In runs lately")); /* no fault, no table of faults */
    free(text);
    progress = course(10, 0, SL_PROMPTING_COUNT);
    text = report(&progress, &(struct sl_style){.width = 80});
    assert_null(strstr(text, "Prompting:"));
    free(text);
}

static void brief_is_only_what_to_do(void **state)
{
    (void)state;
    struct sl_progress progress = course(5, 1, SL_PROMPTING_FULL);
    char *text = report(&progress, &(struct sl_style){.width = 80, .brief = true});
    assert_int_equal(strncmp(text, "Next:      Gear: late in 1 of the last 5 runs", 45), 0);
    check_has(text, "Prompting: stay at full; 2 more clean runs in a row");
    assert_null(strstr(text, "Right lately"));
    free(text);
}

static void no_line_is_wider_than_the_screen(void **state)
{
    (void)state;
    struct sl_progress progress = course(40, 20, SL_PROMPTING_PARTIAL);
    for (int width = 40; width <= 100; width += 4) {
        char *text = report(&progress, &(struct sl_style){.width = width});
        for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
            if (sl_text_columns(line) > (size_t)width) {
                fail_msg("%d columns: %s", width, line);
            }
        }
        free(text);
    }
}

static void colour_only_adds_to_the_words(void **state)
{
    (void)state;
    struct sl_progress progress = course(40, 20, SL_PROMPTING_PARTIAL);
    char *plain = report(&progress, &(struct sl_style){.width = 80});
    char *coloured = report(&progress, &(struct sl_style){.width = 80, .colour = true});
    assert_non_null(strchr(coloured, '\x1b'));
    char *to = coloured;
    for (const char *from = coloured; *from != '\0'; from++) {
        if (*from == '\x1b') {
            from = strchr(from, 'm');
            assert_non_null(from);
        } else {
            *to++ = *from;
        }
    }
    *to = '\0';
    assert_string_equal(coloured, plain);
    free(coloured);
    free(plain);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_report_says_what_is_next_and_how_each_thing_went),
        cmocka_unit_test(recall_without_a_run_is_told),
        cmocka_unit_test(ready_is_said_with_the_level_that_follows),
        cmocka_unit_test(brief_is_only_what_to_do),
        cmocka_unit_test(no_line_is_wider_than_the_screen),
        cmocka_unit_test(colour_only_adds_to_the_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
