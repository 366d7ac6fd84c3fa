/* The JSON of drives, against docs/formats.md. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "files/drive_json.h"
#include "support/json_schema.h"
#include "support/planned_words.h"

#include <math.h>

/* What is left out of the planned words, or said wrongly. */
struct edit {
    size_t phase;
    bool missed;
    int gear;
    double late_s;
};

static char *drive_json(const char *junction, const struct edit *edit, uint64_t seed)
{
    struct planned planned;
    struct sl_drive drive = {0};
    struct sl_drive_change change = {0};
    struct sl_situation others;
    char *json = NULL;
    assert_true(planned_load(&planned, junction, "decide-last", "small-petrol"));
    for (size_t i = 0; i < planned.routine.n_phases; i++) {
        struct sl_settings right = planned_right(&planned, i);
        bool ours = edit != NULL && edit->phase == i;
        if (ours && edit->gear > 0) {
            right.gear = edit->gear;
        }
        if (!ours || !edit->missed) {
            double at_s = planned.plan.windows[i].due_s + (ours ? edit->late_s : 0.0);
            planned_say(&planned, i, at_s, &right);
        }
    }
    sl_situation_make(&planned.junction, &planned.routine, &planned.plan, seed, &others);
    assert_int_equal(sl_drive_make(&planned.driving, &drive, NULL), SL_OK);
    assert_int_equal(sl_drive_one_change(&planned.driving, &drive, &change, NULL), SL_OK);
    const struct sl_driven driven = {"run.flac", &planned.driving, &drive, &change,
                                     seed > 0 ? &others : NULL};
    assert_int_equal(sl_drive_to_json(&driven, &json, NULL), SL_OK);
    sl_drive_clear(&drive);
    planned_clear(&planned);
    return json;
}

static void drives_are_as_documented(void **state)
{
    static const struct edit edits[] = {{.phase = 3, .late_s = 3.5},
                                        {.phase = 3, .gear = 5},
                                        {.phase = 2, .missed = true},
                                        {.phase = 4, .missed = true},
                                        {.phase = 99}};
    static const char *const junctions[] = {"t-left-open", "example-stop-line"};
    struct schema schema = read_schema("## JSON of a drive");
    struct schema settings = read_schema("A settings object holds");
    (void)state;
    for (size_t i = 0; i < 10; i++) {
        char *json = drive_json(junctions[i % 2], &edits[i / 2], i);
        check_output(json, &schema, &settings);
        free(json);
    }
    /* The one change of a stall stalls in none of these. */
    find_key(&schema, "one_change.stalled_s")->seen++;
    every_key_was_seen(&schema);
    clear_schema(&schema);
    clear_schema(&settings);
}

/* The same words, byte for byte the same output; figures where they belong. */
static void a_late_gear_is_told_in_figures(void **state)
{
    (void)state;
    const struct edit late = {.phase = 3, .late_s = 3.5};
    char *json = drive_json("t-left-open", &late, 0);
    char *again = drive_json("t-left-open", &late, 0);
    assert_string_equal(json, again);
    json_t *root = json_loads(json, 0, NULL);
    json_t *told = json_object_get(root, "consequences");
    assert_int_equal(json_array_size(told), 1);
    assert_string_equal(json_string_value(json_object_get(json_array_get(told, 0), "name")),
                        "gear-late");
    json_t *arrival = json_object_get(root, "arrival");
    /* 8.5 s from the slowing to the line, 3.5 s late, 1.5 s for the change: 3.5 s */
    double rolling_s = json_number_value(json_object_get(arrival, "rolling_s"));
    assert_true(fabs(rolling_s - 3.5) < 0.5);
    json_t *change = json_object_get(root, "one_change");
    assert_string_equal(json_string_value(json_object_get(change, "phase")), "gear");
    assert_int_equal(json_integer_value(json_object_get(change, "left")), 0);
    assert_true(json_number_value(json_object_get(change, "rolling_s")) > 6.5);
    json_decref(root);
    free(json);
    free(again);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(drives_are_as_documented),
        cmocka_unit_test(a_late_gear_is_told_in_figures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
