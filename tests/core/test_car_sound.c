#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

#include "core/car_sound.h"
#include "core/units.h"
#include "support/near.h"
#include "support/random.h"

#define RATE ((size_t)SL_CAR_SOUND_RATE_HZ)
#define BLOCK (RATE / 100)

/* A second or more of one state, after `settle` seconds of it. */
static double *sound_of(const struct sl_car_heard *heard, double settle_s, size_t n)
{
    struct sl_car_sound sound;
    double *samples = malloc(n * sizeof *samples);
    assert_non_null(samples);
    sl_car_sound_start(&sound);
    for (size_t i = 0; i < (size_t)(settle_s * SL_CAR_SOUND_RATE_HZ); i++) {
        (void)sl_car_sound_next(&sound, heard);
    }
    for (size_t i = 0; i < n; i++) {
        samples[i] = sl_car_sound_next(&sound, heard);
    }
    return samples;
}

static double power_at(const double *samples, size_t n, double hz)
{
    double real = 0.0;
    double imaginary = 0.0;
    for (size_t i = 0; i < n; i++) {
        double angle = 2.0 * SL_PI * hz * (double)i / SL_CAR_SOUND_RATE_HZ;
        real += samples[i] * cos(angle);
        imaginary += samples[i] * sin(angle);
    }
    return (real * real + imaginary * imaginary) / ((double)n * (double)n);
}

static double rms(const double *samples, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += samples[i] * samples[i];
    }
    return sqrt(sum / (double)n);
}

/* A four-stroke engine fires each cylinder once in two turns (common practice, no source): four
 * cylinders at 3000 rpm fire 100 times a second, at 900 rpm 30 times. */
static void pitch_follows_the_engine(void **state)
{
    (void)state;
    static const double rows[][2] = {{900, 30}, {1500, 50}, {3000, 100}, {4500, 150}};
    for (size_t row = 0; row < 4; row++) {
        assert_near(sl_car_sound_hz(rows[row][0]), rows[row][1], 1e-9);
        struct sl_car_heard heard = {.engine_rpm = rows[row][0], .pulls = true};
        double *samples = sound_of(&heard, 0.5, RATE);
        double there = power_at(samples, RATE, rows[row][1]);
        assert_true(there > 1e-8);
        /* Sharp to a hertz, and only its multiples sound. */
        assert_true(power_at(samples, RATE, rows[row][1] - 1.0) < there / 1e3);
        assert_true(power_at(samples, RATE, rows[row][1] + 1.0) < there / 1e3);
        assert_true(power_at(samples, RATE, rows[row][1] / 2.0) < there / 1e3);
        assert_true(power_at(samples, RATE, rows[row][1] * 2.0) > there / 3.0);
        free(samples);
    }
}

static void an_engine_that_pulls_is_louder_and_brighter(void **state)
{
    (void)state;
    struct sl_car_heard heard = {.engine_rpm = 1800};
    double *idle = sound_of(&heard, 0.5, RATE);
    heard.pulls = true;
    double *pulling = sound_of(&heard, 0.5, RATE);
    assert_true(rms(pulling, RATE) > 1.3 * rms(idle, RATE));
    double bright = power_at(pulling, RATE, 600.0) / power_at(pulling, RATE, 60.0);
    double dull = power_at(idle, RATE, 600.0) / power_at(idle, RATE, 60.0);
    assert_true(bright > 2.0 * dull);
    free(idle);
    free(pulling);
}

static void a_stalled_engine_dies_away(void **state)
{
    (void)state;
    struct sl_car_sound sound;
    struct sl_car_heard heard = {.engine_rpm = 900, .judders = true};
    double after[RATE / 10];
    sl_car_sound_start(&sound);
    for (size_t i = 0; i < RATE; i++) {
        (void)sl_car_sound_next(&sound, &heard);
    }
    heard = (struct sl_car_heard){0};
    for (size_t i = 0; i < RATE * 3 / 10; i++) {
        (void)sl_car_sound_next(&sound, &heard);
    }
    for (size_t i = 0; i < RATE / 10; i++) {
        after[i] = sl_car_sound_next(&sound, &heard);
    }
    assert_true(rms(after, RATE / 10) < 1e-6);
}

/* Once in two turns: at 900 rpm 7.5 times a second, a line beside each of the engine's own. */
static void judder_beats_once_a_cycle(void **state)
{
    (void)state;
    struct sl_car_heard heard = {.engine_rpm = 900, .pulls = true};
    double *smooth = sound_of(&heard, 0.5, 2 * RATE);
    heard.judders = true;
    double *rough = sound_of(&heard, 0.5, 2 * RATE);
    assert_true(power_at(rough, 2 * RATE, 37.5) > 1e-8);
    assert_true(power_at(smooth, 2 * RATE, 37.5) < 1e-3 * power_at(rough, 2 * RATE, 37.5));
    free(smooth);
    free(rough);
}

static void the_road_grows_with_the_speed(void **state)
{
    (void)state;
    struct sl_car_heard heard = {.speed_mps = 4.5};
    double *slow = sound_of(&heard, 0.5, RATE);
    heard.speed_mps = 13.5;
    double *fast = sound_of(&heard, 0.5, RATE);
    assert_near(rms(fast, RATE) / rms(slow, RATE), 3.0, 0.01); /* the same noise, three times it */
    free(slow);
    free(fast);
}

/* 90 flashes in 60 s: a tick and a tock every 2/3 s, from the first sample on. */
static void the_indicator_ticks(void **state)
{
    (void)state;
    struct sl_car_heard heard = {.indicates = true};
    double *samples = sound_of(&heard, 0.0, 2 * RATE);
    size_t half = RATE / 3;
    for (size_t i = 0; i < 6; i++) {
        size_t at = i * half;
        assert_true(rms(samples + at, BLOCK) > 1e-3);
        assert_true(rms(samples + at + half / 2, BLOCK) < 1e-6);
    }
    free(samples);
}

static void mirrors_are_a_note_that_is_not_begun_twice(void **state)
{
    (void)state;
    struct sl_car_sound sound;
    struct sl_car_heard heard = {0};
    double samples[RATE / 5];
    sl_car_sound_start(&sound);
    sl_car_sound_mirrors(&sound);
    for (size_t i = 0; i < RATE / 5; i++) {
        samples[i] = sl_car_sound_next(&sound, &heard);
        if (i == RATE / 20) {
            sl_car_sound_mirrors(&sound);
        }
    }
    assert_true(power_at(samples, RATE / 10, 1320.0) > 1e-7);
    assert_true(rms(samples + RATE / 10, RATE / 10) < 1e-9);
}

/* Whatever the car does from one sample to the next: finite, softer than a cue, and no step that
 * the sound itself does not take: its parts' levels x 2 pi x their pitch, the engine's pulse and
 * the road's noise. */
static void any_car_is_heard_softly_and_without_a_click(void **state)
{
    (void)state;
    const double loudest = pow(10.0, SL_CAR_SOUND_LOUDEST_DBFS / 20.0);
    uint64_t random = 3;
    struct sl_car_sound sound;
    double worst = 0.0;
    double step = 0.0;
    double before = 0.0;
    sl_car_sound_start(&sound);
    struct sl_car_heard heard = {0};
    for (size_t block = 0; block < 6000; block++) {
        double sum = 0.0;
        if (random_share(&random) < 0.1) {
            heard = (struct sl_car_heard){.engine_rpm = 7000.0 * random_share(&random),
                                          .speed_mps = 40.0 * random_share(&random),
                                          .pulls = random_share(&random) < 0.5,
                                          .judders = random_share(&random) < 0.3,
                                          .indicates = random_share(&random) < 0.5};
            heard.engine_rpm = random_share(&random) < 0.2 ? 0.0 : heard.engine_rpm;
        }
        if (random_share(&random) < 0.05) {
            sl_car_sound_mirrors(&sound);
        }
        for (size_t i = 0; i < BLOCK; i++) {
            double now = sl_car_sound_next(&sound, &heard);
            assert_true(isfinite(now));
            sum += now * now;
            step = fmax(step, fabs(now - before));
            before = now;
        }
        worst = fmax(worst, sqrt(sum / (double)BLOCK));
    }
    print_message("loudest 10 ms %.1f dBFS, largest step %.4f\n", 20.0 * log10(worst), step);
    assert_true(worst < loudest);
    assert_true(worst > loudest / 4.0); /* and can be heard */
    assert_true(step < 0.012);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pitch_follows_the_engine),
        cmocka_unit_test(an_engine_that_pulls_is_louder_and_brighter),
        cmocka_unit_test(a_stalled_engine_dies_away),
        cmocka_unit_test(judder_beats_once_a_cycle),
        cmocka_unit_test(the_road_grows_with_the_speed),
        cmocka_unit_test(the_indicator_ticks),
        cmocka_unit_test(mirrors_are_a_note_that_is_not_begun_twice),
        cmocka_unit_test(any_car_is_heard_softly_and_without_a_click),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
