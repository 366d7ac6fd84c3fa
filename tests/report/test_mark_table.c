#include "report/table.h"

#include "core/units.h"
#include "files/models.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

struct scene {
    struct sl_junction junction;
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_heard_list heard;
    struct sl_level_report levels;
    struct sl_mark mark;
    double from_s;
};

/* Something said about a phase, `after_s` from its due moment. */
static void say(struct scene *scene, size_t phase, double after_s, const char *text,
                struct sl_settings settings)
{
    char *copy = sl_strdup(text);
    double at_s = scene->from_s + scene->plan.windows[phase < 5 ? phase : 3].due_s + after_s;
    struct sl_heard heard = {.phase = phase,
                             .text = copy,
                             .start_s = at_s,
                             .end_s = at_s + 0.8,
                             .confidence = 0.9,
                             .settings = settings};
    assert_int_equal(sl_heard_add(&scene->heard, &heard, NULL), SL_OK);
    free(copy);
}

static void load_scene(struct scene *scene)
{
    assert_int_equal(sl_load_junction("t-left-open", &scene->junction, NULL), SL_OK);
    assert_int_equal(sl_load_routine("decide-last", &scene->routine, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &scene->car, NULL), SL_OK);
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
    scene->levels.duration_s = 31.25;
    scene->from_s = 2.0;
}

static void say_first_three(struct scene *scene)
{
    struct sl_settings mirrors = {.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT}, .n_mirrors = 2};
    say(scene, 0, 0.0, "interior and left mirror", mirrors);
    say(scene, 1, 0.0, "indicating left", (struct sl_settings){.signal = SL_SIGNAL_LEFT});
    say(scene, 2, 0.0, "down to ten", (struct sl_settings){.speed_mps = 10.0 * SL_MPS_PER_MPH});
}

static char *mark_text(struct scene *scene, bool timed, const struct sl_style *style)
{
    struct sl_mark_options options = {.timed = timed, .from_s = scene->from_s};
    const struct sl_task task = {&scene->routine, &scene->junction, &scene->plan, options};
    assert_int_equal(sl_mark_make(&task, &scene->heard, &scene->mark, NULL), SL_OK);
    struct sl_mark_view view = {.file = "homework/run-1.flac",
                                .routine = &scene->routine,
                                .junction = &scene->junction,
                                .plan = &scene->plan,
                                .levels = &scene->levels,
                                .heard = &scene->heard,
                                .mark = &scene->mark,
                                .from_s = scene->from_s};
    struct sl_str out = {0};
    sl_report_mark(&out, &view, style);
    sl_mark_clear(&scene->mark);
    sl_heard_clear(&scene->heard);
    sl_car_clear(&scene->car);
    sl_routine_clear(&scene->routine);
    sl_junction_clear(&scene->junction);
    return sl_str_take(&out);
}

static void expect_parts(const char *text, const char *const *parts, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (strstr(text, parts[i]) == NULL) {
            fail_msg("\"%s\" is not in\n%s", parts[i], text);
        }
    }
}

static void each_phase_shows_window_time_words_and_verdict(void **state)
{
    (void)state;
    struct scene scene = {0};
    struct sl_style style = {.width = 80};
    load_scene(&scene);
    say_first_three(&scene);
    say(&scene, 3, 0.2, "second gear clutch up",
        (struct sl_settings){.gear = 2, .clutch = SL_CLUTCH_UP});
    scene.levels.notices = SL_NOTICE_QUIET;
    char *text = mark_text(&scene, true, &style);
    static const char *const parts[] = {
        "Recording: homework/run-1.flac (31.2 s)",
        "Junction:  t-left-open",
        "Plan:      30 mph down to 10 mph in second gear",
        "Sound:     too quiet",
        "indicating left",
        "down to ten",
        "second gear clutch up",
        "(not heard)",
        "missed",
        "1 fault:\n  1. Decide, missed: ",
        "     Why: ",
        "Score:     94 of 100 overall\nParts:     order 100, completeness 80, settings 100, timing "
        "100\n",
        "Next:      ",
        "Practise parked or at home",
    };
    expect_parts(text, parts, sizeof parts / sizeof *parts);
    assert_null(strstr(text, "\033"));
    free(text);
}

static void a_correction_shows_both_and_counts_as_right(void **state)
{
    (void)state;
    struct scene scene = {0};
    struct sl_style style = {.width = 80};
    load_scene(&scene);
    say_first_three(&scene);
    say(&scene, 3, 0.0, "first gear", (struct sl_settings){.gear = 1});
    say(&scene, SL_PHRASE_CORRECTION, 0.9, "no", (struct sl_settings){0});
    say(&scene, 3, 1.2, "second gear", (struct sl_settings){.gear = 2});
    say(&scene, 4, 0.0, "clear going", (struct sl_settings){.decision = SL_DECISION_GO});
    char *text = mark_text(&scene, false, &style);
    static const char *const parts[] = {"first gear no second gear", "right, corrected",
                                        "Corrected: Gear: ", "No faults.", "timing was not marked"};
    expect_parts(text, parts, sizeof parts / sizeof *parts);
    assert_null(strstr(text, "Due (s)"));
    free(text);
}

static void what_is_unclear_is_no_fault(void **state)
{
    (void)state;
    struct scene scene = {0};
    struct sl_style style = {.width = 80};
    load_scene(&scene);
    say_first_three(&scene);
    say(&scene, 3, 0.0, "second gear clutch up",
        (struct sl_settings){.gear = 2, .clutch = SL_CLUTCH_UP});
    say(&scene, 4, 0.0, "clear going", (struct sl_settings){.decision = SL_DECISION_GO});
    scene.heard.items[1].unclear = true;
    scene.heard.items[4].unclear = true;
    char *text = mark_text(&scene, true, &style);
    static const char *const parts[] = {
        "No faults.\n2 unclear, which are no faults:\n  1. Signal, unclear: ",
        "  2. Decide, unclear: ",
    };
    expect_parts(text, parts, sizeof parts / sizeof *parts);
    assert_null(strstr(text, "Settled:"));
    free(text);
}

static void brief_shows_faults_and_score_only(void **state)
{
    (void)state;
    struct scene scene = {0};
    struct sl_style style = {.width = 80, .brief = true, .colour = true};
    load_scene(&scene);
    say_first_three(&scene);
    say(&scene, 3, 0.0, "first gear", (struct sl_settings){.gear = 1});
    char *text = mark_text(&scene, true, &style);
    static const char *const parts[] = {
        "Recording: ", "2 faults:\n  1. Gear, wrong setting: ", "Score: "};
    expect_parts(text, parts, sizeof parts / sizeof *parts);
    assert_null(strstr(text, "Plan:"));
    assert_null(strstr(text, "Next:"));
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_phase_shows_window_time_words_and_verdict),
        cmocka_unit_test(a_correction_shows_both_and_counts_as_right),
        cmocka_unit_test(what_is_unclear_is_no_fault),
        cmocka_unit_test(brief_shows_faults_and_score_only),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
