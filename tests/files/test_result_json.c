/*
 * The JSON against its documentation: every key of docs/formats.md occurs in a real output with the
 * documented type, and no output has a key that is not documented. Output is read back with
 * jansson.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "core/units.h"
#include "files/models.h"
#include "files/result_json.h"
#include "support/json_schema.h"
#include "support/near.h"

#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* All that a mark is made of. */
struct scene {
    struct sl_routine routine;
    struct sl_junction junction;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_heard_list heard;
    struct sl_mark mark;
};

static void set_scene(struct scene *scene, const char *routine, const char *junction)
{
    *scene = (struct scene){0};
    assert_int_equal(sl_load_routine(routine, &scene->routine, NULL), SL_OK);
    assert_int_equal(sl_load_junction(junction, &scene->junction, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &scene->car, NULL), SL_OK);
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
}

static void clear_scene(struct scene *scene)
{
    sl_routine_clear(&scene->routine);
    sl_junction_clear(&scene->junction);
    sl_car_clear(&scene->car);
    sl_heard_clear(&scene->heard);
    sl_mark_clear(&scene->mark);
}

/* Adds the phrases of a text, spoken from start_s on, half a second each. */
static void hear(struct scene *scene, double start_s, const char *text, bool unclear)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    const struct sl_phrasebook *book = &scene->routine.phrasebook;
    assert_int_equal(sl_phrasebook_match(book, text, &matches, &n_matches, NULL), SL_OK);
    assert_true(n_matches > 0);
    for (size_t i = 0; i < n_matches; i++) {
        char words[] = "words";
        struct sl_heard heard = {.phase = book->phrases[matches[i].phrase].phase,
                                 .text = words,
                                 .start_s = start_s + 0.5 * (double)i,
                                 .end_s = start_s + 0.5 * (double)i + 0.4,
                                 .confidence = unclear ? 0.25 : 0.875,
                                 .unclear = unclear,
                                 .settings = matches[i].settings};
        assert_int_equal(sl_heard_add(&scene->heard, &heard, NULL), SL_OK);
    }
    free(matches);
}

/* With the speed settled as right where it is unclear. */
static char *mark_to_json(struct scene *scene, bool timed, const struct sl_level_report *levels)
{
    char name[] = "A. Tutor";
    char day[] = "2026-03-14";
    struct sl_settled_file settled = {.by = name, .on = day};
    settled.settlements.phases[2] = (struct sl_settlement){SL_SETTLED_RIGHT, NAN};
    const struct sl_mark_options options = {.timed = timed, .from_s = 1.5};
    char *json = NULL;
    const struct sl_task task = {&scene->routine, &scene->junction, &scene->plan, options};
    assert_int_equal(sl_mark_make(&task, &scene->heard, &scene->mark, NULL), SL_OK);
    bool unclear = scene->mark.phases[2].unclear;
    assert_int_equal(sl_settle(&task, &scene->heard, &settled.settlements, &scene->mark, NULL),
                     SL_OK);
    const struct sl_driving driving = {&task, &scene->car, &scene->heard};
    struct sl_drive drive = {0};
    assert_int_equal(sl_drive_make(&driving, &drive, NULL), SL_OK);
    const struct sl_result result = {.file = "run.flac",
                                     .routine = &scene->routine,
                                     .junction = &scene->junction,
                                     .plan = &scene->plan,
                                     .levels = levels,
                                     .heard = &scene->heard,
                                     .mark = &scene->mark,
                                     .from_s = options.from_s,
                                     .settled = unclear ? &settled : NULL,
                                     .drive = timed ? &drive : NULL};
    assert_int_equal(sl_result_to_json(&result, &json, NULL), SL_OK);
    sl_drive_clear(&drive);
    return json;
}

static const struct sl_level_report loud = {.duration_s = 30.123456,
                                            .peak_db = -0.5,
                                            .speech_db = -20,
                                            .noise_db = -31,
                                            .snr_db = 10.65,
                                            .clipped_share = 0.015,
                                            .notices = SL_NOTICE_CLIPPED | SL_NOTICE_NOISY};

static void marks_are_as_documented(void **state)
{
    struct schema schema = read_schema("## JSON of a mark");
    struct schema settings = read_schema("A settings object holds");
    struct scene scene;
    (void)state;
    set_scene(&scene, "decide-last", "t-left-open");
    hear(&scene, 4, "okay then", false);
    hear(&scene, 5, "left mirror then interior", false);
    hear(&scene, 8, "signal right", false);
    hear(&scene, 20, "first gear, no, second gear, clutch up", false);
    hear(&scene, 22, "down to ten", true);
    hear(&scene, 23, "looks clear, going", true);
    char *json = mark_to_json(&scene, true, &loud);
    check_output(json, &schema, &settings);
    free(json);
    clear_scene(&scene);
    set_scene(&scene, "position-look", "major-right-closed");
    hear(&scene, 3, "interior and right mirror", false);
    hear(&scene, 5, "keep right", false);
    hear(&scene, 6, "not clear, waiting", false);
    json = mark_to_json(&scene, false, NULL);
    check_output(json, &schema, &settings);
    free(json);
    clear_scene(&scene);
    every_key_was_seen(&schema);
    every_key_was_seen(&settings);
    clear_schema(&schema);
    clear_schema(&settings);
}

static void a_mark_says_what_was_heard_and_when(void **state)
{
    struct scene scene;
    json_error_t failure;
    (void)state;
    set_scene(&scene, "decide-last", "t-left-open");
    hear(&scene, 4, "okay then", false);
    hear(&scene, 5, "interior and left mirror", false);
    hear(&scene, 8, "no, signal right", false);
    hear(&scene, 10, "down to ten", false);
    char *json = mark_to_json(&scene, true, &loud);
    json_t *root = json_loads(json, 0, &failure);
    const json_t *heard = json_object_get(root, "heard");
    assert_int_equal(json_array_size(heard), 3); /* the filler is left out */
    const json_t *mirrors = json_array_get(heard, 0);
    assert_string_equal(json_string_value(json_object_get(mirrors, "phase")), "mirrors");
    assert_float_equal(json_number_value(json_object_get(mirrors, "start_s")), 5, 1e-6);
    assert_float_equal(json_number_value(json_object_get(mirrors, "confidence")), 0.875, 1e-6);
    const json_t *phase = json_array_get(json_object_get(root, "phases"), 0);
    assert_float_equal(json_number_value(json_object_get(phase, "at_s")), 3.5, 1e-6);
    const json_t *named = json_object_get(json_array_get(heard, 2), "settings");
    assert_int_equal(json_object_size(named), 1);
    assert_true(json_is_integer(json_object_get(named, "speed_mph"))); /* 10, not 9.999999 */
    assert_int_equal(json_integer_value(json_object_get(named, "speed_mph")), 10);
    bool wrong_signal = false;
    const json_t *fault = NULL;
    size_t index = 0;
    json_array_foreach(json_object_get(root, "faults"), index, fault)
    {
        if (strcmp(json_string_value(json_object_get(fault, "kind")), "wrong-setting") == 0) {
            const json_t *said = json_object_get(fault, "said");
            const json_t *wanted = json_object_get(fault, "wanted");
            assert_string_equal(json_string_value(json_object_get(fault, "heard")), "words");
            assert_string_equal(json_string_value(json_object_get(said, "signal")), "right");
            assert_string_equal(json_string_value(json_object_get(wanted, "signal")), "left");
            wrong_signal = true;
        }
    }
    assert_true(wrong_signal);
    json_decref(root);
    free(json);
    clear_scene(&scene);
}

static enum sl_status plan_to_json(const struct scene *scene, char **json)
{
    const struct sl_planned planned = {&scene->plan, &scene->junction, &scene->routine,
                                       &scene->car};
    return sl_plan_to_json(&planned, json, NULL);
}

static void plans_are_as_documented(void **state)
{
    static const char short_approach[] = "title: Too short (invented)\nkind: t\nturn: left\n"
                                         "view: closed\napproach: 40 mph\ndistance: 60 m\n";
    static const char *const junctions[] = {"example-measured", "t-left-open", "example-stop-line"};
    struct schema schema = read_schema("## JSON of a plan");
    struct schema settings = read_schema("A settings object holds");
    struct scene scene;
    char *json = NULL;
    (void)state;
    for (size_t i = 0; i < 4; i++) {
        set_scene(&scene, "decide-last", junctions[i % 3]);
        if (i == 3) {
            sl_junction_clear(&scene.junction);
            assert_int_equal(sl_parse_junction(short_approach, "short.yaml", &scene.junction, NULL),
                             SL_OK);
            assert_int_equal(
                sl_plan_make(&scene.junction, &scene.routine, &scene.car, &scene.plan, NULL),
                SL_OK);
            assert_int_equal(scene.plan.give_up, SL_GIVE_UP_SPEED);
        }
        assert_int_equal(plan_to_json(&scene, &json), SL_OK);
        check_output(json, &schema, &settings);
        free(json);
        clear_scene(&scene);
    }
    every_key_was_seen(&schema);
    clear_schema(&schema);
    clear_schema(&settings);
}

/* Each figure of the windows under its own key. */
static void a_plan_says_where_and_when(void **state)
{
    struct scene scene;
    json_error_t failure;
    char *json = NULL;
    (void)state;
    set_scene(&scene, "decide-last", "t-left-open");
    assert_int_equal(plan_to_json(&scene, &json), SL_OK);
    json_t *root = json_loads(json, 0, &failure);
    const json_t *phases = json_object_get(root, "phases");
    assert_int_equal(json_array_size(phases), scene.plan.n_windows);
    for (size_t i = 0; i < scene.plan.n_windows; i++) {
        const json_t *phase = json_array_get(phases, i);
        const struct sl_window *window = &scene.plan.windows[i];
        const struct {
            const char *key;
            double value;
        } rows[] = {{"opens_s", window->opens_s},   {"due_s", window->due_s},
                    {"closes_s", window->closes_s}, {"opens_m", window->opens_m},
                    {"due_m", window->due_m},       {"closes_m", window->closes_m}};
        for (size_t r = 0; r < sizeof(rows) / sizeof(rows[0]); r++) {
            double told = json_number_value(json_object_get(phase, rows[r].key));
            assert_near(told, rows[r].value, 0.0005001); /* rounded to 3 decimals */
        }
    }
    assert_near(json_number_value(json_object_get(root, "approach_mph")), 30, 1e-9);
    json_decref(root);
    free(json);
    clear_scene(&scene);
}

static void windows_are_null_in_an_untimed_mark(void **state)
{
    (void)state;
    for (int timed = 0; timed < 2; timed++) {
        struct scene scene;
        json_error_t failure;
        set_scene(&scene, "decide-last", "t-left-open");
        hear(&scene, 5, "interior and left mirror", false);
        char *json = mark_to_json(&scene, timed == 1, &loud);
        json_t *root = json_loads(json, 0, &failure);
        const json_t *phase = json_array_get(json_object_get(root, "phases"), 0);
        assert_int_equal(json_is_number(json_object_get(phase, "opens_s")), timed);
        assert_int_equal(json_is_number(json_object_get(phase, "due_s")), timed);
        assert_int_equal(json_is_number(json_object_get(phase, "closes_s")), timed);
        assert_int_equal(json_is_null(json_object_get(phase, "due_s")), !timed);
        json_decref(root);
        free(json);
        clear_scene(&scene);
    }
}

static void errors_are_as_documented(void **state)
{
    struct schema schema = read_schema("## JSON of a file that could not be marked");
    struct schema settings = read_schema("A settings object holds");
    struct sl_error failure = {0};
    char *json = NULL;
    (void)state;
    sl_fail(&failure, SL_FORMAT, "a.wav", "record it again", "there is no sound in it");
    assert_int_equal(sl_error_to_json("a.wav", &failure, &json, NULL), SL_OK);
    check_output(json, &schema, &settings);
    free(json);
    sl_fail_memory(&failure);
    assert_int_equal(sl_error_to_json("a.wav", &failure, &json, NULL), SL_OK);
    check_output(json, &schema, &settings);
    assert_non_null(strstr(json, "no-memory"));
    free(json);
    every_key_was_seen(&schema);
    sl_error_clear(&failure);
    clear_schema(&schema);
    clear_schema(&settings);
}

static void odd_file_names_stay_valid_json(void **state)
{
    static const struct {
        const char *name, *file, *read_back;
    } rows[] = {
        {"Latin-1", "caf\xe9.wav", "caf\\xe9.wav"},
        {"UTF-8", "caf\xc3\xa9.wav", "caf\xc3\xa9.wav"},
        {"cut off", "a\xe2\x82", "a\\xe2\\x82"},
        {"overlong", "a\xc0\xaf", "a\\xc0\\xaf"},
        {"surrogate", "a\xed\xa0\x80", "a\\xed\\xa0\\x80"},
        {"quote, line end, escape", "a\"\n\x1b[2J", "a\"\n\x1b[2J"},
        {"empty", "", ""},
    };
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        struct sl_error failure = {0};
        json_error_t problem;
        char *json = NULL;
        sl_fail(&failure, SL_IO, rows[i].file, NULL, "it broke");
        assert_int_equal(sl_error_to_json(rows[i].file, &failure, &json, NULL), SL_OK);
        assert_null(strchr(json, '\n'));
        assert_null(strchr(json, '\x1b'));
        json_t *root = json_loads(json, 0, &problem);
        const char *file = json_string_value(json_object_get(root, "file"));
        if (file == NULL || strcmp(file, rows[i].read_back) != 0) {
            fail_msg("%s: '%s'", rows[i].name, json);
        }
        json_decref(root);
        free(json);
        sl_error_clear(&failure);
    }
}

static void what_is_no_figure_is_null(void **state)
{
    struct scene scene;
    struct sl_level_report levels = loud;
    (void)state;
    set_scene(&scene, "decide-last", "t-left-open");
    hear(&scene, 5, "mirrors", false);
    levels.snr_db = NAN;
    levels.noise_db = -INFINITY;
    char *json = mark_to_json(&scene, true, &levels);
    assert_non_null(strstr(json, "\"snr_db\":null"));
    assert_non_null(strstr(json, "\"noise_db\":null"));
    assert_non_null(strstr(json, "\"duration_s\":30.123,"));
    free(json);
    clear_scene(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_are_as_documented),
        cmocka_unit_test(a_mark_says_what_was_heard_and_when),
        cmocka_unit_test(plans_are_as_documented),
        cmocka_unit_test(a_plan_says_where_and_when),
        cmocka_unit_test(windows_are_null_in_an_untimed_mark),
        cmocka_unit_test(errors_are_as_documented),
        cmocka_unit_test(odd_file_names_stay_valid_json),
        cmocka_unit_test(what_is_no_figure_is_null),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
