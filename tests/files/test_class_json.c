/* The JSON of a class, read back with jansson. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "core/drive.h"
#include "files/class_json.h"
#include "support/class_scene.h"

static json_t *json_of(const struct sl_class *group)
{
    char *line = NULL;
    json_error_t at;
    assert_int_equal(sl_class_to_json(group, &line, NULL), SL_OK);
    assert_null(strchr(line, '\n'));
    json_t *object = json_loads(line, JSON_REJECT_DUPLICATES, &at);
    assert_non_null(object);
    free(line);
    return object;
}

static const json_t *run_of(const json_t *class, size_t bag, size_t run)
{
    const json_t *bags = json_object_get(class, "bags");
    return json_array_get(json_object_get(json_array_get(bags, bag), "runs"), run);
}

static const char *text(const json_t *object, const char *key)
{
    return json_string_value(json_object_get(object, key));
}

static void each_run_has_both_marks_and_whether_they_differ(void **state)
{
    (void)state;
    struct class_scene scene;
    class_scene_fill(&scene);
    json_t *class = json_of(&scene.group);
    assert_string_equal(text(class, "schema"), "sayline-class-1");
    assert_string_equal(text(class, "set"), "week");
    assert_string_equal(text(class, "title"), "Week 3: <T> & \"lanes\"");
    const json_t *same = run_of(class, 0, 0);
    const json_t *other = run_of(class, 0, 1);
    assert_true(json_is_false(json_object_get(same, "differs"))); /* by less than 0.01 */
    assert_true(json_is_true(json_object_get(same, "counts")));
    assert_true(json_is_null(json_object_get(same, "objection")));
    assert_true(json_is_true(json_object_get(other, "differs")));
    assert_true(json_is_false(json_object_get(other, "counts")));
    assert_string_equal(text(other, "objection"), "the score is below that of the set");
    const json_t *handed_in = json_object_get(other, "handed_in");
    const json_t *marked = json_object_get(other, "marked");
    assert_float_equal(json_number_value(json_object_get(handed_in, "score")), 99.5, 0);
    assert_int_equal(json_integer_value(json_object_get(handed_in, "faults")), 0);
    assert_float_equal(json_number_value(json_object_get(marked, "score")), 60.25, 0);
    assert_int_equal(json_integer_value(json_object_get(marked, "faults")), 2);
    assert_true(json_is_null(json_object_get(same, "drive"))); /* it was rehearsed */
    json_decref(class);
}

static void a_drive_tells_what_came_of_it(void **state)
{
    (void)state;
    struct class_scene scene;
    class_scene_fill(&scene);
    scene.ada[0].driven = scene.ada[1].driven = scene.nobody[0].driven = true;
    scene.ada[1].came_of = SL_CAME_OF(SL_WENT_INTO_TRAFFIC);
    json_t *class = json_of(&scene.group);
    const json_t *drive = json_object_get(run_of(class, 0, 1), "drive");
    assert_int_equal(json_array_size(json_object_get(run_of(class, 0, 0), "drive")), 0);
    assert_int_equal(json_array_size(drive), 1);
    assert_string_equal(json_string_value(json_array_get(drive, 0)), "went-into-traffic");
    assert_true(json_is_null(json_object_get(run_of(class, 1, 0), "drive"))); /* not marked */
    json_decref(class);
}

static void what_is_not_known_is_null(void **state)
{
    (void)state;
    struct class_scene scene;
    class_scene_fill(&scene);
    scene.set.title = NULL;
    json_t *class = json_of(&scene.group);
    const json_t *bags = json_object_get(class, "bags");
    const json_t *ada = json_array_get(bags, 0);
    const json_t *nobody = json_array_get(bags, 1);
    const json_t *refused = json_array_get(bags, 2);
    assert_int_equal(json_array_size(bags), 3);
    assert_true(json_is_null(json_object_get(class, "title")));
    assert_int_equal(json_integer_value(json_object_get(ada, "left")), 1);
    assert_string_equal(text(ada, "packed"), "2026-03-14");
    assert_true(json_is_null(json_object_get(ada, "refusal")));
    assert_true(json_is_null(json_object_get(nobody, "learner")));
    assert_true(json_is_null(json_object_get(nobody, "packed")));
    assert_true(json_is_null(json_object_get(run_of(class, 1, 0), "handed_in")));
    assert_true(json_is_null(json_object_get(run_of(class, 1, 0), "marked")));
    assert_string_equal(text(run_of(class, 1, 0), "failure"), "the file is \x1b[31mempty");
    assert_string_equal(text(refused, "refusal"), "it is a link");
    assert_true(json_is_null(json_object_get(refused, "left")));
    assert_int_equal(json_array_size(json_object_get(refused, "runs")), 0);
    json_decref(class);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_run_has_both_marks_and_whether_they_differ),
        cmocka_unit_test(a_drive_tells_what_came_of_it),
        cmocka_unit_test(what_is_not_known_is_null),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
