#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "core/road_tone.h"
#include "support/hand_plan.h"

#define RATE_HZ 16000.0

static struct sl_plan open_plan(void)
{
    struct sl_junction junction = hand_junction();
    return hand_plan(&junction);
}

/* Counted upward crossings of zero in one second, from a quarter second's start on. */
static int crossings_in_a_second(const struct sl_plan *plan, double from_s)
{
    int crossings = 0;
    double before = sl_road_tone(plan, from_s);
    for (int i = 1; i <= (int)RATE_HZ; i++) {
        double now = sl_road_tone(plan, from_s + i / RATE_HZ);
        crossings += before < 0 && now >= 0 ? 1 : 0;
        before = now;
    }
    return crossings;
}

static void pitch_is_that_of_the_planned_speed(void **state)
{
    (void)state;
    struct sl_plan plan = open_plan();
    /* 30 mph before the slowing, 10 mph when rolling: the header's own figures. */
    assert_near(sl_road_tone_hz(&plan, 1), 520, 1e-9);
    assert_near(sl_road_tone_hz(&plan, plan.gear_s + 1), 320, 1e-9);
    assert_in_range(crossings_in_a_second(&plan, 1), 519, 521);
    assert_in_range(crossings_in_a_second(&plan, plan.gear_s + 1), 319, 321);
}

/* Slowing evenly, the cycles of one second are the pitch in its middle. */
static void pitch_falls_with_the_speed_while_slowing(void **state)
{
    (void)state;
    struct sl_plan plan = open_plan();
    double middle_s = (plan.brake_s + plan.gear_s) / 2;
    assert_near(sl_road_tone_hz(&plan, middle_s), 420, 1); /* 20 mph */
    assert_in_range(crossings_in_a_second(&plan, middle_s - 0.5), 418, 422);
}

/* A jump of the phase would be a step; the steepest that the tone itself takes between two samples
 * is amplitude x 2 pi x pitch / rate. */
static void the_tone_has_no_jump_anywhere(void **state)
{
    (void)state;
    struct sl_plan plan = open_plan();
    double most = SL_ROAD_TONE_AMPLITUDE * 2 * SL_PI * 521 / RATE_HZ * 1.01;
    double before = sl_road_tone(&plan, -0.1);
    for (int i = 0; i < (int)((plan.line_s + 0.2) * RATE_HZ); i++) {
        double now = sl_road_tone(&plan, -0.1 + i / RATE_HZ);
        assert_true(fabs(now - before) <= most);
        before = now;
    }
}

static void the_tone_is_silent_before_the_announcement_and_after_the_line(void **state)
{
    (void)state;
    struct sl_plan plan = open_plan();
    assert_true(sl_road_tone(&plan, -1) == 0);
    assert_true(sl_road_tone(&plan, 0) == 0);
    assert_true(sl_road_tone(&plan, plan.line_s) == 0);
    assert_true(sl_road_tone(&plan, plan.line_s + 5) == 0);
}

static void the_tone_stays_well_below_the_cues(void **state)
{
    (void)state;
    struct sl_plan plan = open_plan();
    double energy = 0;
    double peak = 0;
    int n = (int)(plan.line_s * RATE_HZ);
    for (int i = 0; i < n; i++) {
        double value = sl_road_tone(&plan, i / RATE_HZ);
        energy += value * value;
        peak = fmax(peak, fabs(value));
    }
    double dbfs = 10 * log10(energy / n);
    assert_true(dbfs < -45 && dbfs > -50); /* cues: -23 LUFS */
    assert_true(peak <= SL_ROAD_TONE_AMPLITUDE && peak > 0.99 * SL_ROAD_TONE_AMPLITUDE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pitch_is_that_of_the_planned_speed),
        cmocka_unit_test(pitch_falls_with_the_speed_while_slowing),
        cmocka_unit_test(the_tone_has_no_jump_anywhere),
        cmocka_unit_test(the_tone_is_silent_before_the_announcement_and_after_the_line),
        cmocka_unit_test(the_tone_stays_well_below_the_cues),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
