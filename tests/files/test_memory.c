/*
 * Memory that runs out at every single allocation: the loaders and the JSON say so, lose nothing
 * and crash nowhere.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "files/models.h"
#include "files/path.h"
#include "files/result_json.h"
#include "support/failing_memory.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

/* Far more allocations than any of the calls makes. */
#define ALLOCATIONS_MAX 100000

static char *shipped(const char *relative)
{
    struct sl_str text = {0};
    char *path = sl_strf("%s/models/%s", SL_SOURCE_DIR, relative);
    assert_int_equal(sl_read_text_file(path, (size_t)1 << 20, &text, NULL), SL_OK);
    free(path);
    return sl_str_take(&text);
}

/* True once the call had all the memory that it wanted. */
static bool had_enough(enum sl_status status)
{
    allowed = -1;
    if (status != SL_OK) {
        assert_int_equal(status, SL_NO_MEMORY);
    }
    return status == SL_OK;
}

static void junctions_and_cars_survive_it(void **state)
{
    char *junction_text = shipped("junctions/example-measured.yaml");
    char *car_text = shipped("cars/city-car.yaml");
    struct sl_junction junction = {0};
    struct sl_car car = {0};
    long n = -1;
    enum sl_status status = SL_NO_MEMORY;
    (void)state;
    do {
        struct sl_error error = {0};
        allowed = ++n;
        status = sl_parse_junction(junction_text, "f.yaml", &junction, &error);
        sl_error_clear(&error);
    } while (!had_enough(status) && n < ALLOCATIONS_MAX);
    assert_in_range(n, 20, ALLOCATIONS_MAX - 1);
    n = -1;
    do {
        struct sl_error error = {0};
        allowed = ++n;
        status = sl_parse_car(car_text, "f.yaml", &car, &error);
        sl_error_clear(&error);
    } while (!had_enough(status) && n < ALLOCATIONS_MAX);
    assert_in_range(n, 20, ALLOCATIONS_MAX - 1);
    sl_junction_clear(&junction);
    sl_car_clear(&car);
    free(junction_text);
    free(car_text);
}

/* Everything that a routine may hold, once. */
static const char small_routine[] =
    "title: Small\n"
    "phases:\n"
    "  - {id: speed, title: Speed, moment: brake, carries: [speed_mph], why: {late: a}}\n"
    "  - {id: gear, title: Gear, moment: gear, carries: [gear, clutch], required: [gear]}\n"
    "why: {missed: a, out-of-order: b, wrong-setting: c, early: d, late: e, extra: f, unclear: g}\n"
    "rules:\n"
    "  - {id: r, kind: after, phase: gear, after: speed, rule: a, reason: b}\n"
    "  - {id: s, kind: rolling, phase: gear, seconds: 5 s, rule: a, reason: b}\n"
    "settings:\n"
    "  open: {speed: 10 mph, accept: [8 mph, 12 mph], gear: 2, clutch: up}\n"
    "  closed: {speed: 5 mph, accept: [0 mph, 5 mph], gear: 1, clutch: down}\n"
    "  stop: {speed: 5 mph, accept: [0 mph, 5 mph], gear: 1, decision: wait}\n"
    "turns:\n"
    "  left: {mirrors: [interior, left], signal: left, position: left}\n"
    "  right: {signal: right}\n"
    "  ahead: {signal: none}\n"
    "timing: {comfort: 1.5 m/s2, firm: 2.45 m/s2, reaction: 0.7 s, rolling: 5 s,\n"
    "         rolling-margin: 2 s, gear-change: 1.5 s, announce: 5 s, step: 3 s, early: 1 s,\n"
    "         at-line: 3 s}\n"
    "scoring: {order: 25, completeness: 30, settings: 25, timing: 20, timing-zero: 5 s,\n"
    "          extra-penalty: 5, unclear-share: 0.5}\n"
    "phrases:\n"
    "  slots: {gear: {first: {gear: 1}, second: {gear: 2}}}\n"
    "  say:\n"
    "    speed: [slow down]\n"
    "    gear: [\"[into] <gear> (gear | now)\", {say: clutch up, means: {clutch: up}}]\n"
    "  fillers: [okay]\n"
    "  corrections: [\"no\"]\n";

static void routines_survive_it(void **state)
{
    struct sl_routine routine = {0};
    long n = -1;
    enum sl_status status = SL_NO_MEMORY;
    (void)state;
    do {
        struct sl_error error = {0};
        allowed = ++n;
        status = sl_parse_routine(small_routine, "f.yaml", &routine, &error);
        sl_error_clear(&error);
    } while (!had_enough(status) && n < ALLOCATIONS_MAX);
    assert_in_range(n, 300, ALLOCATIONS_MAX - 1);
    sl_routine_clear(&routine);
}

static void finding_files_survives_it(void **state)
{
    long n = -1;
    enum sl_status status = SL_NO_MEMORY;
    struct sl_car car = {0};
    (void)state;
    do {
        struct sl_error error = {0};
        allowed = ++n;
        status = sl_load_car("small-petrol", &car, &error);
        sl_error_clear(&error);
    } while (!had_enough(status) && n < ALLOCATIONS_MAX);
    sl_car_clear(&car);
    n = -1;
    do { /* with a list of names for the mend */
        struct sl_error error = {0};
        allowed = ++n;
        status = sl_load_car("small-petorl", &car, &error);
        allowed = -1;
        sl_error_clear(&error);
    } while (status == SL_NO_MEMORY && n < ALLOCATIONS_MAX);
    assert_int_equal(status, SL_NOT_FOUND);
}

/* jansson allocates through a function of ours, the rest through the wrapped malloc. */
static void *scarce_malloc(size_t size)
{
    return malloc(size);
}

static void json_survives_it(void **state)
{
    struct sl_routine routine = {0};
    struct sl_junction junction = {0};
    struct sl_car car = {0};
    struct sl_plan plan = {0};
    struct sl_mark mark = {0};
    struct sl_heard_list heard = {0};
    char words[] = "left mirror";
    const struct sl_heard said = {.text = words,
                                  .start_s = 5,
                                  .end_s = 6,
                                  .settings = {.mirrors = {SL_MIRROR_LEFT}, .n_mirrors = 1}};
    const struct sl_level_report levels = {.notices = SL_NOTICE_NOISY};
    (void)state;
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    assert_int_equal(sl_load_junction("t-left-open", &junction, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &car, NULL), SL_OK);
    assert_int_equal(sl_plan_make(&junction, &routine, &car, &plan, NULL), SL_OK);
    assert_int_equal(sl_heard_add(&heard, &said, NULL), SL_OK);
    const struct sl_task task = {
        .routine = &routine, .junction = &junction, .plan = &plan, .options = {.timed = true}};
    assert_int_equal(sl_mark_make(&task, &heard, &mark, NULL), SL_OK);
    const struct sl_result result = {.file = "a.flac",
                                     .routine = &routine,
                                     .junction = &junction,
                                     .plan = &plan,
                                     .levels = &levels,
                                     .heard = &heard,
                                     .mark = &mark};
    const struct sl_planned planned = {&plan, &junction, &routine, &car};
    json_set_alloc_funcs(scarce_malloc, free);
    char *json = NULL;
    long n = -1;
    do {
        allowed = ++n;
    } while (!had_enough(sl_result_to_json(&result, &json, NULL)) && n < ALLOCATIONS_MAX);
    assert_in_range(n, 100, ALLOCATIONS_MAX - 1);
    free(json);
    n = -1;
    do {
        allowed = ++n;
    } while (!had_enough(sl_plan_to_json(&planned, &json, NULL)) && n < ALLOCATIONS_MAX);
    assert_in_range(n, 100, ALLOCATIONS_MAX - 1);
    free(json);
    json_set_alloc_funcs(malloc, free);
    sl_mark_clear(&mark);
    sl_heard_clear(&heard);
    sl_routine_clear(&routine);
    sl_junction_clear(&junction);
    sl_car_clear(&car);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(junctions_and_cars_survive_it),
        cmocka_unit_test(routines_survive_it),
        cmocka_unit_test(finding_files_survives_it),
        cmocka_unit_test(json_survives_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
