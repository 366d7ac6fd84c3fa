#include "core/settling.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/marked_run.h"
#include "support/near.h"

#define NOT_CLEAR "mirrors interior left @4; signal left @8; speed 10 @12; "
#define AFTER "; decide go @24"

/* A run marked by the machine, then settled. */
struct settled_run {
    struct run run;
    struct sl_heard_list heard;
    struct sl_task task;
    struct sl_settlements settlements;
};

static void begin(struct settled_run *settled, const char *script, unsigned hiding,
                  enum where where)
{
    *settled = (struct settled_run){.run = mark(script, true, where)};
    struct run *run = &settled->run;
    settled->heard = script_heard(&run->routine, script);
    settled->task = (struct sl_task){
        &run->routine, &run->junction, &run->plan, {.timed = true, .hiding = hiding}};
    assert_int_equal(sl_mark_make(&settled->task, &settled->heard, &run->mark, NULL), SL_OK);
}

static enum sl_status decide(struct settled_run *settled, size_t phase, enum sl_settled as,
                             double at_s, struct sl_error *error)
{
    settled->settlements.phases[phase] = (struct sl_settlement){.as = as, .at_s = at_s};
    return sl_settle(&settled->task, &settled->heard, &settled->settlements, &settled->run.mark,
                     error);
}

static void end(struct settled_run *settled)
{
    sl_heard_clear(&settled->heard);
    end_run(&settled->run);
}

/* What was heard unclearly, the decision, and the faults that follow. Windows of the fixture: the
 * gear is due at 16 s, until 18 s. */
static const struct {
    const char *name, *script;
    size_t phase;
    enum sl_settled as;
    double at_s;
    const char *faults;
    double settings, completeness;
} rows[] = {
    {"right as heard", NOT_CLEAR "?gear 2 up @16" AFTER, GEAR, SL_SETTLED_RIGHT, NAN, "", 100, 100},
    {"right, heard as another", NOT_CLEAR "?gear 1 down @16" AFTER, GEAR, SL_SETTLED_RIGHT, NAN, "",
     100, 100},
    {"right, mirrors in order",
     "?mirrors left @4; signal left @8; speed 10 @12; gear 2 up @16" AFTER, MIRRORS,
     SL_SETTLED_RIGHT, NAN, "", 100, 100},
    {"right, nothing wanted in particular",
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; ?decide @24", DECIDE,
     SL_SETTLED_RIGHT, NAN, "", 100, 100},
    {"right is not in time for that", NOT_CLEAR "?gear 2 up @20" AFTER, GEAR, SL_SETTLED_RIGHT, NAN,
     "gear late", 100, 100},
    {"nor in order", "mirrors interior left @4; ?gear 2 up @6; signal left @8; speed 10 @12" AFTER,
     GEAR, SL_SETTLED_RIGHT, NAN, "gear out-of-order gear-after-speed", 100, 100},
    {"right, said elsewhere", NOT_CLEAR "?gear 2 up @20" AFTER, GEAR, SL_SETTLED_RIGHT, 16.5, "",
     100, 100},
    {"wrong, heard as right", NOT_CLEAR "?gear 2 up @16" AFTER, GEAR, SL_SETTLED_WRONG, NAN,
     "gear wrong-setting", 400 / 6.0, 100},
    {"wrong as heard", NOT_CLEAR "?gear 1 @16" AFTER, GEAR, SL_SETTLED_WRONG, NAN,
     "gear wrong-setting", 400 / 6.0, 100},
    {"missed", NOT_CLEAR "?gear 2 up @16" AFTER, GEAR, SL_SETTLED_MISSED, NAN, "gear missed", 100,
     80},
    {"of two the clearest, and the other is dropped", NOT_CLEAR "?gear 2 up @16; ?gear 1 @18" AFTER,
     GEAR, SL_SETTLED_RIGHT, NAN, "", 100, 100},
};

static void a_decision_is_marked_like_any_step(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct settled_run run;
        begin(&run, rows[i].script, 0, T_LEFT);
        assert_true(run.run.mark.phases[rows[i].phase].unclear);
        struct sl_error error = {0};
        if (decide(&run, rows[i].phase, rows[i].as, rows[i].at_s, &error) != SL_OK) {
            fail_msg("%s: %s", rows[i].name, error.what);
        }
        const struct sl_mark *made = &run.run.mark;
        char *faults = script_faults(&run.run.routine, made);
        if (strcmp(faults, rows[i].faults) != 0) {
            fail_msg("%s: \"%s\" instead of \"%s\"", rows[i].name, faults, rows[i].faults);
        }
        assert_near(made->scores.settings, rows[i].settings, 1e-6);
        assert_near(made->scores.completeness, rows[i].completeness, 1e-6);
        assert_int_equal(made->phases[rows[i].phase].settled, rows[i].as);
        assert_false(made->phases[rows[i].phase].unclear);
        assert_int_equal(made->phases[SIGNAL == rows[i].phase ? GEAR : SIGNAL].settled,
                         SL_SETTLED_NOT);
        free(faults);
        end(&run);
    }
}

static void what_the_sound_hides_needs_a_moment(void **state)
{
    (void)state;
    struct settled_run run;
    struct sl_error error = {0};
    begin(&run, NOT_CLEAR "decide go @24", SL_NOTICE_NOISY, T_LEFT);
    assert_true(run.run.mark.phases[GEAR].unclear);
    assert_int_equal(decide(&run, GEAR, SL_SETTLED_RIGHT, NAN, &error), SL_INVALID);
    assert_string_equal(error.where, "gear");
    assert_true(run.run.mark.phases[GEAR].unclear); /* still the machine's own */
    assert_int_equal(decide(&run, GEAR, SL_SETTLED_RIGHT, 16, &error), SL_OK);
    assert_int_equal(run.run.mark.n_faults, 0);
    assert_near(run.run.mark.phases[GEAR].at_s, 16, 1e-9);
    assert_int_equal(run.run.mark.phases[GEAR].said.gear, 2);
    end(&run);
    begin(&run, NOT_CLEAR "decide go @24", SL_NOTICE_NOISY, T_LEFT);
    assert_int_equal(decide(&run, GEAR, SL_SETTLED_MISSED, NAN, &error), SL_OK);
    assert_int_equal(fault_at(&run.run, 0)->kind, SL_FAULT_MISSED);
    end(&run);
    sl_error_clear(&error);
}

static void a_moment_before_the_announcement_is_refused(void **state)
{
    (void)state;
    struct settled_run run;
    struct sl_error error = {0};
    begin(&run, NOT_CLEAR "?gear 2 @16" AFTER, 0, T_LEFT);
    run.task.options.from_s = 10;
    assert_int_equal(sl_mark_make(&run.task, &run.heard, &run.run.mark, NULL), SL_OK);
    assert_int_equal(decide(&run, GEAR, SL_SETTLED_RIGHT, 5, &error), SL_INVALID);
    assert_non_null(strstr(error.what, "before the junction was announced"));
    sl_error_clear(&error);
    end(&run);
}

static void nothing_is_wrong_where_nothing_is_wanted(void **state)
{
    (void)state;
    struct settled_run run;
    struct sl_error error = {0};
    begin(&run, NOT_CLEAR "gear 2 up @16; ?decide go @24", 0, T_LEFT);
    assert_int_equal(decide(&run, DECIDE, SL_SETTLED_WRONG, NAN, &error), SL_INVALID);
    sl_error_clear(&error);
    end(&run);
    begin(&run, NOT_CLEAR "gear 2 up @16; ?decide go @24", 0, BUSY);
    assert_int_equal(decide(&run, DECIDE, SL_SETTLED_WRONG, NAN, &error), SL_OK);
    assert_int_equal(fault_at(&run.run, 0)->kind, SL_FAULT_WRONG_SETTING);
    end(&run);
}

/* What was made out stays, whatever is decided about it. */
static void only_what_is_unclear_is_settled(void **state)
{
    (void)state;
    struct settled_run run;
    begin(&run, CLEAN, 0, T_LEFT);
    for (size_t phase = 0; phase < FIXTURE_PHASES; phase++) {
        assert_int_equal(decide(&run, phase, SL_SETTLED_MISSED, NAN, NULL), SL_OK);
    }
    assert_int_equal(run.run.mark.n_faults, 0);
    assert_int_equal(run.run.mark.phases[GEAR].settled, SL_SETTLED_NOT);
    end(&run);
}

static void words_are_read_back(void **state)
{
    (void)state;
    assert_null(sl_settled_word(SL_SETTLED_NOT));
    for (int as = SL_SETTLED_RIGHT; as <= SL_SETTLED_MISSED; as++) {
        assert_int_equal(sl_settled_from_word(sl_settled_word((enum sl_settled)as)), as);
    }
    assert_int_equal(sl_settled_from_word("Right"), SL_SETTLED_NOT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_decision_is_marked_like_any_step),
        cmocka_unit_test(what_the_sound_hides_needs_a_moment),
        cmocka_unit_test(a_moment_before_the_announcement_is_refused),
        cmocka_unit_test(nothing_is_wrong_where_nothing_is_wanted),
        cmocka_unit_test(only_what_is_unclear_is_settled),
        cmocka_unit_test(words_are_read_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
