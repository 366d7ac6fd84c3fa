#include "report/table.h"

#include "files/models.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

/* The text of a shipped junction's plan, its approach changed to `approach_mps` unless 0. */
static char *plan_text(const char *name, double approach_mps, double distance_m, int width)
{
    struct sl_junction junction = {0};
    struct sl_routine routine = {0};
    struct sl_car car = {0};
    struct sl_plan plan;
    assert_int_equal(sl_load_junction(name, &junction, NULL), SL_OK);
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &car, NULL), SL_OK);
    junction.approach_mps = approach_mps > 0.0 ? approach_mps : junction.approach_mps;
    junction.distance_m = distance_m > 0.0 ? distance_m : junction.distance_m;
    assert_int_equal(sl_plan_make(&junction, &routine, &car, &plan, NULL), SL_OK);
    struct sl_plan_view view = {&plan, &junction, &routine, &car};
    struct sl_style style = {.width = width};
    struct sl_str out = {0};
    sl_report_plan(&out, &view, &style);
    sl_car_clear(&car);
    sl_routine_clear(&routine);
    sl_junction_clear(&junction);
    return sl_str_take(&out);
}

static void a_plan_says_what_it_computed_in_words(void **state)
{
    (void)state;
    char *text = plan_text("t-left-open", 0.0, 0.0, 80);
    static const char *const parts[] = {"Junction:  t-left-open: ",
                                        "open view",
                                        "Car:       Small petrol",
                                        "Mirrors ",
                                        "interior and left mirror",
                                        "signal left",
                                        "second gear",
                                        "Slowing:   from 30 mph to 10 mph",
                                        "Rolling: ",
                                        "Last stop:",
                                        "Engine: ",
                                        "long enough",
                                        "Coaching figures, not limits."};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (strstr(text, parts[i]) == NULL) {
            fail_msg("\"%s\" is not in\n%s", parts[i], text);
        }
    }
    free(text);
}

static void a_short_approach_says_what_to_give_up(void **state)
{
    (void)state;
    char *text = plan_text("t-left-open", 0.0, 60.0, 80);
    assert_non_null(strstr(text, "too short"));
    assert_null(strstr(text, "long enough"));
    free(text);
}

static void a_measured_view_says_from_where_the_road_is_seen(void **state)
{
    (void)state;
    char *text = plan_text("example-measured", 0.0, 0.0, 80);
    assert_non_null(strstr(text, "(from the measured"));
    assert_non_null(strstr(text, "must be seen"));
    free(text);
}

static void a_narrow_terminal_gets_one_fact_a_line(void **state)
{
    (void)state;
    char *text = plan_text("t-left-closed", 0.0, 0.0, 40);
    assert_non_null(strstr(text, "Mirrors\n  opens  "));
    for (const char *line = text; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        assert_true(length <= 40);
        line += length + (line[length] == '\n' ? 1 : 0);
    }
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plan_says_what_it_computed_in_words),
        cmocka_unit_test(a_short_approach_says_what_to_give_up),
        cmocka_unit_test(a_measured_view_says_from_where_the_road_is_seen),
        cmocka_unit_test(a_narrow_terminal_gets_one_fact_a_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
