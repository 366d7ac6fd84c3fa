#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "core/junction.h"
#include "core/str.h"
#include "core/units.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static struct sl_junction sample(void)
{
    return (struct sl_junction){.kind = SL_KIND_T, .approach_mps = 30 * SL_MPS_PER_MPH};
}

static void every_word_names_its_own_value(void **state)
{
    (void)state;
    for (unsigned i = 0; i < SL_KIND_COUNT; i++) {
        assert_int_equal(sl_kind_from_word(sl_kind_word((enum sl_kind)i)), i);
        assert_non_null(sl_kind_title((enum sl_kind)i));
    }
    for (unsigned i = 0; i < SL_CONTROL_COUNT; i++) {
        assert_int_equal(sl_control_from_word(sl_control_word((enum sl_control)i)), i);
    }
    for (unsigned i = 0; i < SL_TURN_COUNT; i++) {
        assert_int_equal(sl_turn_from_word(sl_turn_word((enum sl_turn)i)), i);
    }
    for (unsigned i = 0; i < SL_VIEW_COUNT; i++) {
        assert_int_equal(sl_view_from_word(sl_view_word((enum sl_view)i)), i);
    }
}

static void the_words_are_those_of_the_files(void **state)
{
    (void)state;
    assert_string_equal(sl_kind_word(SL_KIND_T), "t");
    assert_string_equal(sl_kind_word(SL_KIND_LIGHTS), "lights");
    assert_string_equal(sl_control_word(SL_CONTROL_GIVE_WAY), "give-way");
    assert_string_equal(sl_control_word(SL_CONTROL_STOP), "stop");
    assert_string_equal(sl_turn_word(SL_TURN_AHEAD), "ahead");
    assert_string_equal(sl_view_word(SL_VIEW_CLOSED), "closed");
    assert_string_equal(sl_kind_title(SL_KIND_T), "T-junction, from the minor road");
}

static void words_that_name_nothing_give_the_count(void **state)
{
    (void)state;
    assert_int_equal(sl_kind_from_word("y"), SL_KIND_COUNT);
    assert_int_equal(sl_control_from_word("STOP"), SL_CONTROL_COUNT);
    assert_int_equal(sl_turn_from_word(""), SL_TURN_COUNT);
    assert_int_equal(sl_view_from_word("half open"), SL_VIEW_COUNT);
    assert_null(sl_kind_word(SL_KIND_COUNT));
    assert_null(sl_kind_title(SL_KIND_COUNT));
    assert_null(sl_view_word((enum sl_view)99));
}

static void a_junction_in_range_is_taken(void **state)
{
    (void)state;
    struct sl_junction junction = sample();
    assert_int_equal(sl_junction_check(&junction, NULL), SL_OK);
    junction.approach_mps = sl_mps_from_mph(SL_APPROACH_MAX_MPH);
    junction.distance_m = SL_DISTANCE_MAX_M;
    junction.gradient = -SL_GRADIENT_MAX;
    assert_int_equal(sl_junction_check(&junction, NULL), SL_OK);
    junction.approach_mps *= 1 + 1e-12; /* 70 mph that went through other units */
    assert_int_equal(sl_junction_check(&junction, NULL), SL_OK);
    junction.kind = SL_KIND_LIGHTS;
    junction.control = SL_CONTROL_LIGHTS;
    junction.turn = SL_TURN_AHEAD;
    assert_int_equal(sl_junction_check(&junction, NULL), SL_OK);
}

static void a_junction_out_of_range_is_refused_with_value_and_mend(void **state)
{
    (void)state;
    const double usual = 30 * SL_MPS_PER_MPH;
    const struct {
        struct sl_junction junction;
        const char *what, *mend;
    } rows[] = {
        {{.approach_mps = 300 * SL_MPS_PER_MPH},
         "the approach speed is 300 mph",
         "give more than 0 and at most 70 mph"},
        {{.approach_mps = 0}, "the approach speed is 0 mph", NULL},
        {{.approach_mps = -5}, NULL, NULL},
        {{.approach_mps = NAN}, NULL, NULL},
        {{.approach_mps = INFINITY}, "the approach speed is inf mph", NULL},
        {{.approach_mps = usual, .distance_m = -1}, "the distance to the line is -1 m", NULL},
        {{.approach_mps = usual, .distance_m = 2001}, "the distance to the line is 2001 m", NULL},
        {{.approach_mps = usual, .distance_m = NAN}, NULL, NULL},
        {{.approach_mps = usual, .gradient = 0.3},
         "the gradient is 30 %",
         "give at least -25 and at most 25 %"},
        {{.approach_mps = usual, .gradient = -INFINITY}, NULL, NULL},
        {{.approach_mps = usual, .gradient = NAN}, NULL, NULL},
        {{.approach_mps = usual, .kind = SL_KIND_COUNT}, NULL, NULL},
        {{.approach_mps = usual, .control = SL_CONTROL_COUNT}, NULL, NULL},
        {{.approach_mps = usual, .turn = SL_TURN_COUNT}, NULL, NULL},
        {{.approach_mps = usual, .view = SL_VIEW_COUNT}, NULL, NULL},
        {{.approach_mps = usual, .traffic = (enum sl_traffic)3}, NULL, NULL},
        {{.approach_mps = usual, .kind = SL_KIND_T, .turn = SL_TURN_AHEAD},
         "the turn is ahead, but the kind is t (T-junction, from the minor road)",
         "turn left or right, or change the kind"},
        {{.approach_mps = usual, .kind = SL_KIND_MAJOR, .turn = SL_TURN_AHEAD}, NULL, NULL},
        {{.approach_mps = usual, .kind = SL_KIND_LIGHTS, .control = SL_CONTROL_GIVE_WAY},
         "the kind is lights, but the control is give-way",
         "make the control lights, or change the kind"},
        {{.approach_mps = usual, .sight_measured = true}, NULL, NULL},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_error error = {0};
        assert_int_equal(sl_junction_check(&rows[i].junction, &error), SL_INVALID);
        assert_int_equal(error.status, SL_INVALID);
        assert_non_null(error.what);
        assert_non_null(error.mend);
        if (rows[i].what != NULL) {
            assert_string_equal(error.what, rows[i].what);
        }
        if (rows[i].mend != NULL) {
            assert_string_equal(error.mend, rows[i].mend);
        }
        sl_error_clear(&error);
    }
}

static void a_sight_that_is_not_used_is_not_checked(void **state)
{
    (void)state;
    struct sl_junction junction = sample();
    junction.sight.major_mps = NAN;
    assert_int_equal(sl_junction_check(&junction, NULL), SL_OK);
    junction.sight_measured = true;
    assert_int_equal(sl_junction_check(&junction, NULL), SL_INVALID);
}

static void a_junction_can_be_cleared_twice(void **state)
{
    (void)state;
    struct sl_junction junction = sample();
    junction.name = sl_strdup("mill-lane");
    junction.title = sl_strdup("Mill Lane into the high street");
    sl_junction_clear(&junction);
    assert_null(junction.name);
    assert_null(junction.title);
    sl_junction_clear(&junction);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_word_names_its_own_value),
        cmocka_unit_test(the_words_are_those_of_the_files),
        cmocka_unit_test(words_that_name_nothing_give_the_count),
        cmocka_unit_test(a_junction_in_range_is_taken),
        cmocka_unit_test(a_junction_out_of_range_is_refused_with_value_and_mend),
        cmocka_unit_test(a_sight_that_is_not_used_is_not_checked),
        cmocka_unit_test(a_junction_can_be_cleared_twice),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
