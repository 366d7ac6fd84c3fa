#include "cli/live.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "report/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct scene {
    struct sl_setup setup;
    struct sl_live live;
    struct sl_live_rows rows;
};

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    struct sl_setup_names names = {.junction = "t-left-open"};
    assert_int_equal(sl_setup_load(&scene->setup, &names, NULL), SL_OK);
    struct sl_screen_run run = {
        .setup = &scene->setup, .recording = "a.flac", .number = 2, .of = 3, .live_ear = true};
    sl_live_begin(&scene->live, &run);
    *state = scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    sl_live_rows_clear(&scene->rows);
    sl_live_clear(&scene->live);
    sl_setup_clear(&scene->setup);
    free(scene);
    return 0;
}

/* Lets the clock stand at a time on the plan. */
static void stand_at(struct scene *scene, double at_s)
{
    const struct sl_plan *plan = &scene->setup.plan;
    struct sl_event event = {.kind = SL_EVENT_LEVEL,
                             .at_s = at_s,
                             .distance_m = sl_plan_distance_m(plan, at_s),
                             .speed_mps = sl_plan_speed_mps(plan, at_s),
                             .level_db = -30};
    if (at_s >= 0) {
        struct sl_event announced = event;
        announced.kind = SL_EVENT_ANNOUNCED;
        sl_live_event(&scene->live, &announced);
    }
    sl_live_event(&scene->live, &event);
}

/* The first row that begins with a text, after blanks and a mark; NULL: none. */
static const char *row(const struct scene *scene, const char *begins)
{
    for (size_t i = 0; i < scene->rows.n; i++) {
        const char *text = sl_str_text(&scene->rows.items[i].text);
        if (strncmp(text, begins, strlen(begins)) == 0) {
            return text;
        }
    }
    return NULL;
}

static void each_moment_has_its_words(void **state)
{
    struct scene *scene = *state;
    const struct sl_window *signal = &scene->setup.plan.windows[1];
    stand_at(scene, -3);
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "Run 2 of 3: t-left-open"));
    assert_non_null(row(scene, "Listen."));
    assert_non_null(row(scene, "  Signal    due at"));
    stand_at(scene, signal->opens_s - 0.5);
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "  Signal    in 0.5 s"));
    assert_non_null(row(scene, "> Mirrors   NOW"));
    stand_at(scene, signal->closes_s - 0.5);
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "> Signal    NOW, 0.5 s left"));
    assert_non_null(row(scene, "  Mirrors   time is over"));
    assert_non_null(row(scene, "Microphone good     [####"));
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_LINE, .at_s = 30});
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "At the line."));
}

/* Nothing tells when to say what; the car's own figures stand in the place of the plan's. */
static void a_driven_car_shows_where_it_is_and_no_windows(void **state)
{
    struct scene *scene = *state;
    scene->live.run.drives = true;
    stand_at(scene, 1);
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_BRAKES,
                                                   .at_s = 12,
                                                   .distance_m = 61,
                                                   .speed_mps = 8.9408,
                                                   .engine_rpm = 1092,
                                                   .gear = 4});
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "Drive 2 of 3. The car does what you say: t-left-open"));
    assert_non_null(row(scene, " 61 m to the line, 20 mph, fourth gear, 1092 rpm"));
    assert_non_null(row(scene, "  Mirrors   not heard yet"));
    assert_non_null(row(scene, "The car brakes."));
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_GEAR,
                                                   .at_s = 30,
                                                   .distance_m = -2,
                                                   .speed_mps = 4.4704,
                                                   .engine_rpm = 1109,
                                                   .gear = 2});
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "  2 m past the line, 10 mph, second gear, 1109 rpm"));
    assert_null(row(scene, "The car brakes."));
}

static void what_is_heard_stands_beside_its_phase_until_it_is_heard_out(void **state)
{
    struct scene *scene = *state;
    char second[] = "second", mirrors[] = "centre mirror";
    struct sl_heard first = {.phase = 3, .text = second, .start_s = 5, .end_s = 6};
    struct sl_heard later = {
        .phase = 0, .text = mirrors, .start_s = 5, .end_s = 7, .unclear = true};
    stand_at(scene, 6);
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_HEARD, .heard = &first});
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "  Gear      said at 5.0 s: second"));
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_HEARD, .heard = &later});
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_null(strstr(row(scene, "  Gear"), "said"));
    assert_non_null(row(scene, "  Mirrors   unclear at 5.0 s: centre mirror"));
    assert_string_equal(row(scene, "Heard"), "Heard      centre mirror");
}

static void what_follows_in_the_same_step_stands_with_it(void **state)
{
    struct scene *scene = *state;
    struct sl_heard gear = {
        .phase = 3, .text = (char[]){"second gear"}, .start_s = 16, .end_s = 17};
    struct sl_heard clutch = {
        .phase = 3, .text = (char[]){"clutch up"}, .start_s = 17.5, .end_s = 18};
    struct sl_heard again = {
        .phase = 3, .text = (char[]){"first gear"}, .start_s = 21, .end_s = 22};
    stand_at(scene, 19);
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_HEARD, .heard = &gear});
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_HEARD, .heard = &clutch});
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "  Gear      said at 16.0 s: second gear, clutch up"));
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_HEARD, .heard = &again});
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "  Gear      said at 21.0 s: first gear"));
}

static void every_size_is_kept_and_the_phases_go_last(void **state)
{
    struct scene *scene = *state;
    struct sl_cue cue = {.text = (char[]){"A long cue that goes on and on and on, to be cut off."}};
    stand_at(scene, 6);
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_CUE, .at_s = 6, .cue = &cue});
    sl_live_event(&scene->live, &(struct sl_event){.kind = SL_EVENT_HALF_DUPLEX, .at_s = 6});
    for (int width = 1; width < 120; width += 3) {
        for (int height = 1; height < 40; height++) {
            sl_live_rows(&scene->live, width, height, &scene->rows);
            assert_true((int)scene->rows.n <= height);
            for (size_t i = 0; i < scene->rows.n; i++) {
                size_t columns = sl_text_columns(sl_str_text(&scene->rows.items[i].text));
                assert_true(columns <= (size_t)width);
            }
        }
    }
    sl_live_rows(&scene->live, 40, 11, &scene->rows);
    assert_non_null(row(scene, "  Decide"));
    assert_null(row(scene, "Cue"));
    sl_live_rows(&scene->live, 78, 24, &scene->rows);
    assert_non_null(row(scene, "Cue"));
    assert_non_null(row(scene, "Practise parked or at home"));
}

static void levels_have_words(void **state)
{
    (void)state;
    assert_string_equal(sl_live_level_word(-80), "no sound");
    assert_string_equal(sl_live_level_word(-50), "quiet");
    assert_string_equal(sl_live_level_word(-25), "good");
    assert_string_equal(sl_live_level_word(-3), "loud");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(each_moment_has_its_words, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_driven_car_shows_where_it_is_and_no_windows, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(what_is_heard_stands_beside_its_phase_until_it_is_heard_out,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_follows_in_the_same_step_stands_with_it, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(every_size_is_kept_and_the_phases_go_last, set_up,
                                        tear_down),
        cmocka_unit_test(levels_have_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
