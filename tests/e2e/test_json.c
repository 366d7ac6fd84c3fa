/* What --json prints: valid, one object a line, in the order of the arguments, whatever --jobs. */
#include "support/program.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdbool.h>
#include <string.h>

#define CLEAN "audio/demo/clean-t-left-open.flac"
#define DEMO(name) "audio/demo/" name ".flac "
#define MANY                                                                                       \
    DEMO("missed-signal")                                                                          \
    "nosuch.wav " DEMO("clean-t-left-open") DEMO("late-gear") DEMO("clean-t-left-open") "nosuch."  \
                                                                                        "wav"

static const json_t *need(const json_t *object, const char *key, json_type type)
{
    const json_t *value = json_object_get(object, key);
    if (value == NULL || json_typeof(value) != type) {
        fail_msg("%s is missing or of another type", key);
    }
    return value;
}

static void marks_hold_every_promised_key(void **state)
{
    (void)state;
    struct sl_ran ran = sl_run("sayline mark -j t-left-open --json " CLEAN);
    assert_int_equal(ran.code, 0);
    assert_ptr_equal(strchr(ran.out, '\n'), ran.out + strlen(ran.out) - 1);
    json_t *mark = json_loads(ran.out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(mark);
    assert_string_equal(json_string_value(need(mark, "file", JSON_STRING)), CLEAN);
    assert_string_equal(json_string_value(need(mark, "routine", JSON_STRING)), "decide-last");
    need(mark, "junction", JSON_STRING);
    need(mark, "next", JSON_STRING);
    need(mark, "faults", JSON_ARRAY);
    const json_t *heard = need(mark, "heard", JSON_ARRAY);
    assert_true(json_array_size(heard) >= 5);
    need(json_array_get(heard, 0), "phase", JSON_STRING);
    need(json_array_get(heard, 0), "text", JSON_STRING);
    need(json_array_get(heard, 0), "start_s", JSON_REAL);
    need(json_array_get(heard, 0), "end_s", JSON_REAL);
    assert_true(json_is_number(json_object_get(json_array_get(heard, 0), "confidence")));
    need(json_array_get(heard, 0), "settings", JSON_OBJECT);
    const json_t *phases = need(mark, "phases", JSON_ARRAY);
    assert_int_equal(json_array_size(phases), 5);
    const json_t *gear = json_array_get(phases, 3);
    assert_string_equal(json_string_value(need(gear, "phase", JSON_STRING)), "gear");
    assert_int_equal(
        json_integer_value(need(need(gear, "said", JSON_OBJECT), "gear", JSON_INTEGER)), 2);
    assert_int_equal(
        json_integer_value(need(need(gear, "wanted", JSON_OBJECT), "gear", JSON_INTEGER)), 2);
    const json_t *scores = need(mark, "scores", JSON_OBJECT);
    static const char *const kinds[] = {"order", "completeness", "settings", "timing", "overall"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        double score = json_number_value(json_object_get(scores, kinds[i]));
        assert_true(score > 0.0 && score <= 100.0);
    }
    json_decref(mark);
    sl_ran_clear(&ran);
}

static void lines_come_in_the_order_of_the_files_whatever_the_jobs(void **state)
{
    (void)state;
    struct sl_ran one = sl_run("sayline mark -j t-left-open --untimed --json " MANY);
    struct sl_ran four = sl_run("sayline mark -j t-left-open --untimed --json --jobs 4 " MANY);
    struct sl_ran names = sl_run("printf '%s\\n' " MANY);
    assert_int_equal(one.code, 1);
    assert_int_equal(four.code, 1);
    assert_string_equal(one.out, four.out);
    char *file_save = NULL;
    char *line_save = NULL;
    char *line = strtok_r(one.out, "\n", &line_save);
    size_t n = 0;
    for (char *file = strtok_r(names.out, "\n", &file_save); file != NULL;
         file = strtok_r(NULL, "\n", &file_save)) {
        assert_non_null(line);
        json_t *object = json_loads(line, JSON_REJECT_DUPLICATES, NULL);
        assert_non_null(object);
        assert_string_equal(json_string_value(need(object, "file", JSON_STRING)), file);
        bool failed = json_object_get(object, "error") != NULL;
        assert_int_equal(failed, strcmp(file, "nosuch.wav") == 0);
        json_decref(object);
        line = strtok_r(NULL, "\n", &line_save);
        n++;
    }
    assert_null(line);
    assert_int_equal(n, 6);
    sl_ran_clear(&one);
    sl_ran_clear(&four);
    sl_ran_clear(&names);
}

static void a_moment_inside_the_recording_moves_the_clock(void **state)
{
    (void)state;
    struct sl_ran whole = sl_run("sayline mark -j t-left-open --json " CLEAN);
    struct sl_ran later = sl_run("sayline mark -j t-left-open --json --from 0.25 " CLEAN);
    json_t *a = json_loads(whole.out, 0, NULL);
    json_t *b = json_loads(later.out, 0, NULL);
    const json_t *gear_a = json_array_get(json_object_get(a, "phases"), 3);
    const json_t *gear_b = json_array_get(json_object_get(b, "phases"), 3);
    double moved_s = json_number_value(need(gear_a, "at_s", JSON_REAL)) -
                     json_number_value(need(gear_b, "at_s", JSON_REAL));
    assert_float_equal(moved_s, 0.25, 0.0021);
    json_decref(a);
    json_decref(b);
    sl_ran_clear(&whole);
    sl_ran_clear(&later);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_hold_every_promised_key),
        cmocka_unit_test(lines_come_in_the_order_of_the_files_whatever_the_jobs),
        cmocka_unit_test(a_moment_inside_the_recording_moves_the_clock),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
