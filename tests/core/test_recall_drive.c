/* What the car would have done with a wrong answer. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/recall.h"
#include "support/drive_fixture.h"

#include <string.h>

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static void every_wrong_setting_of_the_car_is_driven_alone(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double speed_mph; /* 0: not said */
        int gear;
        enum sl_clutch clutch;
        bool wrong_view;
        const char *cars; /* "gear stall" for each */
    } rows[] = {
        {"all right", 10, 2, SL_CLUTCH_UP, false, ""},
        {"a view moves no car", 10, 2, SL_CLUTCH_UP, true, ""},
        {"too fast", 20, 2, SL_CLUTCH_UP, false, "speed too-fast; "},
        {"fast in fifth", 20, 5, SL_CLUTCH_UP, false, "speed too-fast; gear stall; "},
        {"coasting in first", 10, 1, SL_CLUTCH_DOWN, false, "gear jolt; clutch coasting; "},
        {"what was not said is not driven", 0, 0, SL_CLUTCH_UNSAID, false, ""},
        {"right, though the engine would judder", 8, 2, SL_CLUTCH_UP, false, ""},
        {"near enough for nothing to come of it", 10.4, 2, SL_CLUTCH_UP, false, ""},
    };
    struct drive_fixture f;
    struct sl_question question = {0};
    fixture_make(&f);
    assert_int_equal(sl_question_of_junction(&f.routine, &f.junction, f.plan.view, &question, NULL),
                     SL_OK);
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_reply reply = {.view_said = true, .view = f.plan.view};
        reply.view = rows[i].wrong_view ? SL_VIEW_CLOSED : reply.view;
        reply.said.speed_mps = sl_mps_from_mph(rows[i].speed_mph);
        reply.said.gear = rows[i].gear;
        reply.said.clutch = rows[i].clutch;
        struct sl_recall_told told = {.question = &question,
                                      .reply = &reply,
                                      .verdict = sl_reply_judge(&question, &reply, 1, SL_QUICK_S)};
        assert_int_equal(sl_recall_drive(&f.driving, &told, NULL), SL_OK);
        struct sl_str cars = {0};
        for (size_t k = 0; k < told.n_cars; k++) {
            const struct sl_recall_car *car = &told.cars[k];
            sl_str_addf(&cars, "%s %s; ", sl_part_title((unsigned)car->part),
                        sl_consequence_word(car->told.kind));
        }
        if (strcmp(sl_str_text(&cars), rows[i].cars) != 0) {
            fail_msg("%s: %s", rows[i].name, sl_str_text(&cars));
        }
        sl_str_clear(&cars);
        sl_recall_cars_clear(&told);
    }
    sl_question_clear(&question);
    fixture_clear(&f);
}

static void what_nothing_comes_of_is_not_told(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    /* As planned, and called wrong by another's opinion. */
    const struct sl_reply reply = {.said = {.gear = f.plan.gear}};
    struct sl_recall_told told = {.reply = &reply, .verdict = {.wrong = SL_SET_GEAR}};
    assert_int_equal(sl_recall_drive(&f.driving, &told, NULL), SL_OK);
    assert_int_equal(told.n_cars, 0);
    fixture_clear(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_wrong_setting_of_the_car_is_driven_alone),
        cmocka_unit_test(what_nothing_comes_of_is_not_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
