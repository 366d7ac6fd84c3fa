/* A car that is driven live is the car of the recording, and its sound goes on without a click. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/car_sound.h"
#include "practice/live_car.h"
#include "sound/tones.h"
#include "support/drive_fixture.h"
#include "support/near.h"

#define FROM_S 7.963 /* where in the recording the plan's time 0 is */
#define RATE 16000.0
#define PLANNED                                                                                    \
    "mirrors interior left @2; signal left @5; speed 10 @8; gear 2 up @15; decide go @17"

static struct sl_live_car *car_of(struct drive_fixture *f)
{
    struct sl_live_car *car = NULL;
    fixture_make(f);
    assert_int_equal(sl_live_car_new(&f->task, &f->car, &car, NULL), SL_OK);
    return car;
}

/* Says a script, on the recording's clock. */
static void hear(struct drive_fixture *f, struct sl_live_car *car, const char *script)
{
    sl_heard_clear(&f->words);
    f->words = script_heard(&f->routine, script);
    for (size_t i = 0; i < f->words.count; i++) {
        f->words.items[i].start_s += FROM_S;
        f->words.items[i].end_s += FROM_S;
    }
    assert_int_equal(sl_live_car_hear(car, &f->words, FROM_S), SL_OK);
    sl_live_car_look(car);
}

static void a_silent_learner_passes_the_line_as_fast_as_the_car_came(void **state)
{
    (void)state;
    struct drive_fixture f;
    struct sl_live_car *car = car_of(&f);
    double line_s = f.plan.distance_m / f.plan.approach_mps;
    assert_near(sl_live_car_at(car, 0.0).distance_m, f.plan.distance_m, 1e-9);
    assert_near(sl_live_car_at(car, -3.0).distance_m, f.plan.distance_m, 1e-9);
    assert_near(sl_live_car_at(car, line_s).distance_m, 0.0, 0.5);
    assert_near(sl_live_car_at(car, line_s).speed_mps, f.plan.approach_mps, 0.05);
    /* It is over 12 m behind the line, and a little later. */
    double past_s = 12.0 / f.plan.approach_mps;
    assert_near(sl_live_car_end_s(car), line_s + past_s + SL_LIVE_CAR_GONE_S, 0.1);
    sl_live_car_free(car);
    fixture_clear(&f);
}

static void the_live_car_is_the_car_of_the_recording(void **state)
{
    (void)state;
    static const char *const scripts[] = {"signal left @5", PLANNED,
                                          "speed 10 @9; gear 1 down @16; decide wait @17",
                                          "gear 2 up @6; speed 10 @9.5"};
    for (size_t i = 0; i < sizeof scripts / sizeof *scripts; i++) {
        struct drive_fixture f;
        struct sl_live_car *car = car_of(&f);
        hear(&f, car, scripts[i]);
        struct sl_drive drive = {0};
        f.task.options.from_s = FROM_S; /* as `drive --from` has it */
        assert_int_equal(sl_drive_make(&f.driving, &drive, NULL), SL_OK);
        for (double at_s = 0.0; at_s < 40.0; at_s += 0.37) {
            struct sl_drive_sample now = sl_live_car_at(car, at_s);
            struct sl_drive_sample then = sl_drive_at(&drive, at_s);
            assert_true(now.distance_m == then.distance_m && now.speed_mps == then.speed_mps);
            assert_true(now.engine_rpm == then.engine_rpm && now.gear == then.gear);
        }
        sl_drive_clear(&drive);
        sl_live_car_free(car);
        fixture_clear(&f);
    }
}

/* "slow down" came out, then "slow down to ten" took its place. */
static void words_that_were_heard_out_take_the_place_of_the_first(void **state)
{
    (void)state;
    struct drive_fixture f;
    struct sl_live_car *car = car_of(&f);
    hear(&f, car, "speed 10 @8");
    double alone_m = sl_live_car_at(car, 14.0).distance_m;
    hear(&f, car, "gear 1 down @8; speed 10 @8");
    assert_near(sl_live_car_at(car, 14.0).distance_m, alone_m, 1e-9);
    sl_live_car_free(car);
    fixture_clear(&f);
}

static void a_car_that_stands_waits_for_a_word(void **state)
{
    (void)state;
    struct drive_fixture f;
    struct sl_live_car *car = car_of(&f);
    hear(&f, car, "speed 10 @8; gear 1 down @15; decide wait @17");
    double over_s = sl_live_car_end_s(car);
    double stood_s = over_s - SL_LIVE_CAR_STANDS_S;
    assert_near(sl_live_car_at(car, stood_s).speed_mps, 0.0, 1e-9);
    assert_true(sl_live_car_at(car, stood_s - 0.5).speed_mps > 0.0);
    assert_near(sl_live_car_at(car, stood_s).distance_m, SL_FEET_STOP_M, 0.3);
    char *script =
        sl_strf("speed 10 @8; gear 1 down @15; decide wait @17; decide go @%.2f", over_s - 0.5);
    hear(&f, car, script);
    assert_true(sl_live_car_end_s(car) > over_s);
    assert_true(sl_live_car_at(car, sl_live_car_end_s(car)).distance_m < 0.0);
    free(script);
    sl_live_car_free(car);
    fixture_clear(&f);
}

static double power_at(const int16_t *frames, size_t n, double hz)
{
    double amplitude = tone_amplitude(frames, n, hz, RATE);
    return amplitude * amplitude;
}

/* A second of it, made in pieces of an odd size as the speaker asks for them. */
static void mix_second(struct sl_live_car *car, double from_s, int16_t *frames)
{
    for (size_t at = 0, n = 0; at < 16000; at += n) {
        n = at + 777 < 16000 ? 777 : 16000 - at;
        memset(frames + at, 0, n * sizeof *frames);
        sl_live_car_mix(car, from_s + (double)at / RATE, frames + at, n);
    }
}

static void the_engine_is_heard_at_its_speed_and_goes_over_without_a_click(void **state)
{
    (void)state;
    struct drive_fixture f;
    struct sl_live_car *car = car_of(&f);
    int16_t frames[3 * 16000];
    mix_second(car, -1.0, frames);
    for (size_t i = 0; i < 16000; i++) {
        assert_int_equal(frames[i], 0); /* it is heard from the end of the announcement */
    }
    mix_second(car, 18.0, frames);
    double fast_hz = sl_car_sound_hz(sl_live_car_at(car, 18.5).engine_rpm);
    hear(&f, car, PLANNED); /* long ago: by now the car is slow and in second gear */
    mix_second(car, 19.0, frames + 16000);
    mix_second(car, 20.0, frames + 32000);
    double slow_hz = sl_car_sound_hz(sl_live_car_at(car, 20.5).engine_rpm);
    assert_true(fast_hz > slow_hz + 5.0);
    assert_true(power_at(frames + 2000, 14000, fast_hz) >
                100.0 * power_at(frames + 2000, 14000, slow_hz));
    assert_true(power_at(frames + 32000, 16000, slow_hz) >
                100.0 * power_at(frames + 32000, 16000, fast_hz));
    for (size_t i = 1; i < 48000; i++) { /* the bound of any car, in the tests of its sound */
        assert_true(abs(frames[i] - frames[i - 1]) < 0.012 * INT16_MAX);
    }
    sl_live_car_free(car);
    fixture_clear(&f);
}

/* The first words set the indicator and are acknowledged with a note of 1320 Hz. */
static void mirrors_and_signal_are_answered(void **state)
{
    (void)state;
    struct drive_fixture f;
    struct sl_live_car *car = car_of(&f);
    int16_t before[16000];
    int16_t after[16000];
    mix_second(car, 2.0, before);
    hear(&f, car, "mirrors interior left @1; signal left @2.2");
    mix_second(car, 3.0, after);
    double noted = power_at(after, 1600, 1320.0);
    assert_true(noted > 20.0 * power_at(before, 1600, 1320.0));
    assert_true(power_at(after, 160, 2200.0) > 20.0 * power_at(before, 160, 2200.0));
    hear(&f, car, "mirrors interior left @1; signal left @2.2; speed 10 @4");
    mix_second(car, 4.0, after); /* no mirrors this time */
    assert_true(power_at(after, 1600, 1320.0) < noted / 20.0);
    sl_live_car_free(car);
    fixture_clear(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_silent_learner_passes_the_line_as_fast_as_the_car_came),
        cmocka_unit_test(the_live_car_is_the_car_of_the_recording),
        cmocka_unit_test(words_that_were_heard_out_take_the_place_of_the_first),
        cmocka_unit_test(a_car_that_stands_waits_for_a_word),
        cmocka_unit_test(the_engine_is_heard_at_its_speed_and_goes_over_without_a_click),
        cmocka_unit_test(mirrors_and_signal_are_answered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
