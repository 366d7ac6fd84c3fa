#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/near.h"
#include "support/marked_run.h"

#define NOT_TIMED (-1)

struct row {
    const char *name;
    enum where where;
    const char *script;
    double order, completeness, settings, timing, overall; /* timing NOT_TIMED: an untimed mark */
};

/* Worked by hand with the fixture's weights 3, 3, 2, 2; timing is 0 at 4 s outside a window, an
 * extra costs 10 points, an unclear phase earns half. A clean run names six settings. */
static const struct row rows[] = {
    {"clean", T_LEFT, CLEAN, 100, 100, 100, 100, 100},
    {"clean, untimed", T_LEFT, "mirrors interior left; signal left; speed 10; gear 2 up; decide go",
     100, 100, 100, NOT_TIMED, 100},
    /* 9 of 10 pairs are concordant: tau 0.8. */
    {"one swap", T_LEFT, "mirrors interior left; signal left; gear 2 up; speed 10; decide go", 90,
     100, 100, NOT_TIMED, (3 * 90 + 3 * 100 + 2 * 100) / 8.0},
    {"all turned round", T_LEFT,
     "decide go; gear 2 up; speed 10; signal left; mirrors interior left", 0, 100, 100, NOT_TIMED,
     500 / 8.0},
    {"last said first", T_LEFT,
     "decide go; mirrors interior left; signal left; speed 10; gear 2 up", 60, 100, 100, NOT_TIMED,
     680 / 8.0},
    {"one missed", T_LEFT, "mirrors interior left; speed 10; gear 2 up; decide go", 100, 80, 100,
     NOT_TIMED, 740 / 8.0},
    {"one unclear", T_LEFT, "mirrors interior left; ?signal left; speed 10; gear 2 up; decide go",
     100, 90, 100, NOT_TIMED, 770 / 8.0},
    {"one extra", T_LEFT,
     "mirrors interior left; signal left; speed 10; signal left; gear 2 up; decide go", 100, 90,
     100, NOT_TIMED, 770 / 8.0},
    {"extras never take more than there is", T_LEFT,
     "mirrors; signal; mirrors; signal; mirrors; signal; mirrors; signal; mirrors", 100, 0, 0,
     NOT_TIMED, 300 / 8.0},
    {"one phase shows no order", T_LEFT, "signal left", 0, 20, 100, NOT_TIMED, 260 / 8.0},
    {"nothing", T_LEFT, "", 0, 0, 0, NOT_TIMED, 0},
    {"nothing, timed", T_LEFT, "", 0, 0, 0, 0, 0},
    {"nothing, going ahead", AHEAD, "um; no", 0, 0, 0, NOT_TIMED, 0},
    {"only unclear", T_LEFT, "?mirrors; ?signal; ?speed; ?gear; ?decide", 0, 50, 0, NOT_TIMED,
     150 / 8.0},
    {"no signal need be mentioned ahead", AHEAD, "mirrors interior; speed 10; gear 2 up; decide go",
     100, 100, 100, NOT_TIMED, 100},
    {"wrong gear", T_LEFT, "mirrors interior left; signal left; speed 10; gear 1 up; decide go",
     100, 100, 500 / 6.0, NOT_TIMED, (600 + 1000 / 6.0) / 8},
    {"mirrors without their names", T_LEFT, "mirrors; signal left; speed 10; gear 2 up; decide go",
     100, 100, 500 / 6.0, NOT_TIMED, (600 + 1000 / 6.0) / 8},
    {"gear and clutch not named", T_LEFT,
     "mirrors interior left; signal left; speed 10; gear; decide go", 100, 100, 400 / 6.0,
     NOT_TIMED, (600 + 800 / 6.0) / 8},
    {"settings of a missed phase do not count", T_LEFT,
     "mirrors interior left; signal right; speed 10; decide go", 100, 80, 75, NOT_TIMED, 690 / 8.0},
    {"mirrors in the wrong order are one pair more", T_LEFT,
     "mirrors left interior; signal left; speed 10; gear 2 up; decide go", 1000 / 11.0, 100, 100,
     NOT_TIMED, (3000 / 11.0 + 500) / 8},
    {"2 s late is half", T_LEFT,
     "mirrors interior left @7.9-8; signal left @8.1; speed 10 @12; gear 2 up @16; decide go @24",
     100, 100, 100, 90.5, 98.1},
    {"far too early is nothing, not less", T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide wait @17.6",
     100, 100, 100, 80, 96},
    {"a missed phase has no timing", T_LEFT,
     "mirrors interior left @4; speed 10 @12; gear 2 up @16; decide go @27", 100, 80, 100, 93.75,
     92.75},
    {"too little rolling by a second", T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 @17; gear up @21-24; decide "
     "go "
     "@24",
     100, 100, 100, 95, 99},
    {"go half a second before the rule allows", T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @21.5", 100,
     100, 100, 97.5, 99.5},
};

static bool is_timed(const struct row *row)
{
    return row->timing >= 0;
}

static void scores_follow_the_formula(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct row *row = &rows[i];
        struct run run = mark(row->script, is_timed(row), row->where);
        const struct sl_scores *got = &run.mark.scores;
        if (fabs(got->overall - row->overall) > 1e-6) {
            print_error("%s: order %g, completeness %g, settings %g, timing %g, overall %g\n",
                        row->name, got->order, got->completeness, got->settings, got->timing,
                        got->overall);
        }
        assert_near(got->order, row->order, 1e-4);
        assert_near(got->completeness, row->completeness, 1e-4);
        assert_near(got->settings, row->settings, 1e-4);
        assert_near(got->overall, row->overall, 1e-4);
        if (is_timed(row)) {
            assert_near(got->timing, row->timing, 1e-4);
        } else {
            assert_true(isnan(got->timing));
        }
        end_run(&run);
    }
}

/* Marks a script with the routine changed by the test, untimed. */
static struct sl_scores scores_of(const struct sl_routine *routine, const char *script)
{
    struct sl_junction junction = fixture_junction();
    struct sl_plan plan = fixture_plan();
    struct sl_heard_list heard = script_heard(routine, script);
    struct sl_mark made = {0};
    const struct sl_mark_options options = {0};
    const struct sl_task task = {routine, &junction, &plan, options};
    assert_int_equal(sl_mark_make(&task, &heard, &made, NULL), SL_OK);
    struct sl_scores scores = made.scores;
    sl_mark_clear(&made);
    sl_heard_clear(&heard);
    return scores;
}

static void a_routine_of_one_phase_is_in_order_when_heard(void **state)
{
    (void)state;
    struct sl_routine routine = fixture_routine();
    struct sl_routine one = routine;
    one.n_phases = 1;
    one.n_rules = 0;
    assert_near(scores_of(&one, "mirrors interior left").order, 100, 0);
    assert_near(scores_of(&one, "um").order, 0, 0);
    sl_routine_clear(&routine);
}

static void nothing_named_and_nothing_required_is_all_right(void **state)
{
    (void)state;
    struct sl_routine routine = fixture_routine();
    for (size_t phase = 0; phase < routine.n_phases; phase++) {
        routine.phases[phase].required = 0;
    }
    assert_near(scores_of(&routine, "mirrors; signal; speed; gear; decide").settings, 100, 0);
    sl_routine_clear(&routine);
}

static void weights_of_nothing_give_no_overall_score(void **state)
{
    (void)state;
    struct sl_routine routine = fixture_routine();
    routine.scoring.weight_order = 0;
    routine.scoring.weight_completeness = 0;
    routine.scoring.weight_settings = 0;
    assert_near(scores_of(&routine, CLEAN).overall, 0, 0);
    sl_routine_clear(&routine);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(scores_follow_the_formula),
        cmocka_unit_test(a_routine_of_one_phase_is_in_order_when_heard),
        cmocka_unit_test(nothing_named_and_nothing_required_is_all_right),
        cmocka_unit_test(weights_of_nothing_give_no_overall_score),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
