#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/routine_fixture.h"

#include <string.h>

/* The fixture with positions and a slower stop line of its own. */
static struct sl_routine new_routine(void)
{
    struct sl_routine routine = fixture_routine();
    routine.turn[SL_TURN_LEFT].position = SL_POSITION_LEFT;
    routine.turn[SL_TURN_RIGHT].position = SL_POSITION_RIGHT;
    routine.stop.settings.speed_mps = sl_mps_from_mph(3);
    routine.stop.speed_max_mps = sl_mps_from_mph(4);
    return routine;
}

static void faults_and_moments_have_words(void **state)
{
    (void)state;
    assert_string_equal(sl_fault_word(SL_FAULT_MISSED), "missed");
    assert_string_equal(sl_fault_word(SL_FAULT_OUT_OF_ORDER), "out-of-order");
    assert_string_equal(sl_fault_word(SL_FAULT_UNCLEAR), "unclear");
    assert_null(sl_fault_word(SL_FAULT_KIND_COUNT));
    for (size_t i = 0; i < SL_MOMENT_COUNT; i++) {
        const char *word = sl_moment_word((enum sl_moment)i);
        assert_int_equal(sl_moment_from_word(word), i);
    }
    assert_string_equal(sl_moment_word(SL_MOMENT_BRAKE), "brake");
    assert_null(sl_moment_word(SL_MOMENT_COUNT));
    assert_int_equal(sl_moment_from_word("speed"), SL_MOMENT_COUNT);
}

static void a_phase_is_found_by_its_id(void **state)
{
    (void)state;
    struct sl_routine routine = new_routine();
    assert_int_equal(sl_routine_phase(&routine, "mirrors"), MIRRORS);
    assert_int_equal(sl_routine_phase(&routine, "decide"), DECIDE);
    assert_int_equal(sl_routine_phase(&routine, "Gear"), FIXTURE_PHASES);
    sl_routine_clear(&routine);
}

static void what_is_wanted_follows_turn_view_and_stop_line(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct sl_junction junction;
        enum sl_view view;
        const char *wanted[FIXTURE_PHASES];
    } rows[] = {
        {"left, open",
         {.control = SL_CONTROL_GIVE_WAY, .turn = SL_TURN_LEFT},
         SL_VIEW_OPEN,
         {"interior and left mirror", "signal left", "10 mph", "second gear, clutch up", ""}},
        {"right, closed",
         {.control = SL_CONTROL_GIVE_WAY, .turn = SL_TURN_RIGHT},
         SL_VIEW_CLOSED,
         {"interior and right mirror", "signal right", "4 mph", "first gear, clutch down", ""}},
        {"ahead: no signal",
         {.control = SL_CONTROL_LIGHTS, .turn = SL_TURN_AHEAD},
         SL_VIEW_OPEN,
         {"interior mirror", "no signal", "10 mph", "second gear, clutch up", ""}},
        {"a signal would mislead",
         {.turn = SL_TURN_LEFT, .signal_misleads = true},
         SL_VIEW_OPEN,
         {"interior and left mirror", "no signal", "10 mph", "second gear, clutch up", ""}},
        {"clear",
         {.turn = SL_TURN_LEFT, .traffic = SL_TRAFFIC_CLEAR},
         SL_VIEW_CLOSED,
         {"interior and left mirror", "signal left", "4 mph", "first gear, clutch down", "go"}},
        {"busy, lights",
         {.control = SL_CONTROL_LIGHTS, .turn = SL_TURN_LEFT, .traffic = SL_TRAFFIC_BUSY},
         SL_VIEW_OPEN,
         {"interior and left mirror", "signal left", "10 mph", "second gear, clutch up", "wait"}},
        {"a stop line means stopping, whatever the view",
         {.control = SL_CONTROL_STOP, .turn = SL_TURN_RIGHT},
         SL_VIEW_OPEN,
         {"interior and right mirror", "signal right", "3 mph", "first gear, clutch down", "wait"}},
        {"a stop line means stopping, whatever the traffic",
         {.control = SL_CONTROL_STOP, .turn = SL_TURN_RIGHT, .traffic = SL_TRAFFIC_CLEAR},
         SL_VIEW_CLOSED,
         {"interior and right mirror", "signal right", "3 mph", "first gear, clutch down", "wait"}},
    };
    struct sl_routine routine = new_routine();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (size_t phase = 0; phase < FIXTURE_PHASES; phase++) {
            struct sl_wanted wanted =
                sl_routine_wanted(&routine, phase, &rows[i].junction, rows[i].view);
            char *words = sl_settings_words(&wanted.settings);
            if (strcmp(words, rows[i].wanted[phase]) != 0) {
                fail_msg("%s, phase %zu: '%s' instead of '%s'", rows[i].name, phase, words,
                         rows[i].wanted[phase]);
            }
            free(words);
        }
    }
    sl_routine_clear(&routine);
}

static void limits_of_speed_come_with_the_speed_only(void **state)
{
    (void)state;
    struct sl_routine routine = new_routine();
    struct sl_junction junction = {.turn = SL_TURN_LEFT};
    struct sl_wanted speed = sl_routine_wanted(&routine, SPEED, &junction, SL_VIEW_OPEN);
    assert_float_equal(sl_mph_from_mps(speed.speed_min_mps), 8, 1e-9);
    assert_float_equal(sl_mph_from_mps(speed.speed_max_mps), 12, 1e-9);
    junction.control = SL_CONTROL_STOP;
    speed = sl_routine_wanted(&routine, SPEED, &junction, SL_VIEW_OPEN);
    assert_float_equal(sl_mph_from_mps(speed.speed_max_mps), 4, 1e-9);
    struct sl_wanted gear = sl_routine_wanted(&routine, GEAR, &junction, SL_VIEW_OPEN);
    assert_float_equal(gear.speed_min_mps, 0, 1e-12);
    assert_float_equal(gear.speed_max_mps, 0, 1e-12);
    sl_routine_clear(&routine);
}

static void a_phase_that_carries_nothing_wants_nothing(void **state)
{
    (void)state;
    struct sl_routine routine = new_routine();
    struct sl_junction junction = {.traffic = SL_TRAFFIC_CLEAR, .signal_misleads = true};
    for (size_t i = 0; i < FIXTURE_PHASES; i++) {
        routine.phases[i].carries = 0;
        struct sl_wanted wanted = sl_routine_wanted(&routine, i, &junction, SL_VIEW_CLOSED);
        assert_int_equal(sl_settings_named(&wanted.settings), 0);
        assert_float_equal(wanted.speed_max_mps, 0, 1e-12);
    }
    routine.phases[GEAR].carries = SL_SET_ALL;
    struct sl_wanted all = sl_routine_wanted(&routine, GEAR, &junction, SL_VIEW_CLOSED);
    assert_int_equal(sl_settings_named(&all.settings), SL_SET_ALL);
    sl_routine_clear(&routine);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(faults_and_moments_have_words),
        cmocka_unit_test(a_phase_is_found_by_its_id),
        cmocka_unit_test(what_is_wanted_follows_turn_view_and_stop_line),
        cmocka_unit_test(limits_of_speed_come_with_the_speed_only),
        cmocka_unit_test(a_phase_that_carries_nothing_wants_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
