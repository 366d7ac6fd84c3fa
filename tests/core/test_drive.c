#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/drive_fixture.h"
#include "support/near.h"

#include <string.h>

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static bool names(const struct sl_drive *drive, enum sl_consequence_kind kind)
{
    for (size_t i = 0; i < drive->n_consequences; i++) {
        if (drive->consequences[i].kind == kind) {
            return true;
        }
    }
    return false;
}

static void nothing_said_nothing_happens(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    struct sl_drive drive = fixture_drive(&f, "");
    const struct sl_arrival *arrival = &drive.arrival;
    assert_true(arrival->reached);
    assert_near(arrival->speed_mps, f.plan.approach_mps, 0.01);
    assert_near(arrival->line_s, f.plan.distance_m / f.plan.approach_mps, 0.05);
    assert_int_equal(arrival->gear, 4); /* 1640 rpm; fifth would be 1312 */
    assert_true(isnan(arrival->slow_from_s) && isnan(arrival->rolling_s));
    static const enum sl_consequence_kind all[] = {SL_MIRRORS_UNCHECKED, SL_NO_SIGNAL,
                                                   SL_NEVER_SLOWED, SL_NO_GEAR, SL_UNDECIDED};
    for (size_t i = 0; i < COUNT_OF(all); i++) {
        assert_true(names(&drive, all[i]));
    }
    assert_int_equal(drive.n_consequences, COUNT_OF(all));
    sl_drive_clear(&drive);
    fixture_clear(&f);
}

/* Slowing at the planned rate takes (from^2 - to^2) / 2a metres and (from - to) / a seconds. */
static void slowing_on_time_is_the_planned_one(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    char *script = sl_strf("speed 10 @%.3f", f.plan.brake_s);
    struct sl_drive drive = fixture_drive(&f, script);
    double v = sl_mps_from_mph(30);
    double to = sl_mps_from_mph(10);
    assert_near(drive.arrival.slow_to_s - drive.arrival.slow_from_s, (v - to) / 1.5, 0.05);
    assert_near(drive.arrival.firmest_mps2, 1.5, 0.05);
    assert_near(sl_drive_at(&drive, drive.arrival.slow_from_s).distance_m -
                    sl_drive_at(&drive, drive.arrival.slow_to_s).distance_m,
                (v * v - to * to) / 3, 0.3);
    free(script);
    sl_drive_clear(&drive);
    fixture_clear(&f);
}

/* Said in its window, however late: firmer, and the rolling is kept. Said later: it is lost. */
static void the_later_the_word_the_firmer_the_brake(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    double last = 0;
    for (double late_s = 0.5; late_s < 4; late_s += 0.5) {
        const struct sl_window *window = &f.plan.windows[SPEED];
        /* (30 - 10) mph / 2.45 m/s2: 3.65 s of slowing */
        double slowed_s = f.plan.brake_s + late_s + 3.65;
        char *script = sl_strf("speed 10 @%.3f; gear 2 up @%.3f", f.plan.brake_s + late_s,
                               fmax(f.plan.gear_s, slowed_s));
        struct sl_drive drive = fixture_drive(&f, script);
        assert_true(drive.arrival.firmest_mps2 >= last - 1e-6);
        assert_true(drive.arrival.firmest_mps2 < 2.5);
        last = drive.arrival.firmest_mps2;
        bool in_time = f.plan.brake_s + late_s <= window->closes_s;
        assert_int_equal(names(&drive, SL_SLOWED_LATE), !in_time);
        free(script);
        sl_drive_clear(&drive);
    }
    assert_near(last, 2.45, 0.05);
    fixture_clear(&f);
}

static void what_is_unclear_moves_nothing_and_is_told_so(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    struct sl_drive drive = fixture_drive(&f, "?speed 10 @11; um @12");
    assert_near(drive.arrival.speed_mps, f.plan.approach_mps, 0.01);
    for (size_t i = 0; i < drive.n_consequences; i++) {
        assert_int_equal(drive.consequences[i].unclear, drive.consequences[i].phase == SPEED);
    }
    sl_drive_clear(&drive);
    fixture_clear(&f);
}

/* A gear called in the last moment of slowing waits for its end; a second one replaces it. */
static void the_last_gear_called_counts(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    char *script = sl_strf("speed 10 @%.3f; gear 1 up @%.3f; no; gear 2 up @%.3f", f.plan.brake_s,
                           f.plan.gear_s - 1, f.plan.gear_s + 1);
    struct sl_drive drive = fixture_drive(&f, script);
    assert_int_equal(drive.arrival.gear, 2);
    assert_false(names(&drive, SL_WRONG_GEAR));
    assert_false(names(&drive, SL_JOLT));
    free(script);
    sl_drive_clear(&drive);
    fixture_clear(&f);
}

static void words_of_the_announcement_are_not_the_learners(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    f.task.options.from_s = 5;
    struct sl_drive drive = fixture_drive(&f, "speed 5 @2; mirrors interior left @9");
    assert_true(isnan(drive.arrival.slow_from_s));
    assert_false(names(&drive, SL_MIRRORS_UNCHECKED));
    sl_drive_clear(&drive);
    fixture_clear(&f);
}

/* Waiting before the line, then going: the car stands where it should, and gets away. */
static void a_car_that_waited_goes_on_in_first_gear(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    const char *gears[] = {"1", "4"};
    for (size_t i = 0; i < COUNT_OF(gears); i++) {
        char *script =
            sl_strf("speed 4 @%.2f; gear 1 down @%.2f; decide wait @%.2f; gear %s @%.2f; "
                    "decide go @%.2f",
                    f.plan.brake_s, f.plan.gear_s + 2, f.plan.gear_s + 4, gears[i],
                    f.plan.line_s + 25, f.plan.line_s + 30);
        struct sl_drive drive = fixture_drive(&f, script);
        double stood_m = NAN;
        bool stood = false;
        for (size_t j = 0; j < drive.n_samples; j++) {
            if (drive.samples[j].speed_mps <= 0.0 && !stood) {
                stood = true;
                stood_m = drive.samples[j].distance_m;
            }
        }
        assert_true(stood);
        assert_near(stood_m, SL_FEET_STOP_M, 0.2);
        assert_true(drive.arrival.reached); /* in fourth gear it lurches there and stalls */
        assert_int_equal(isnan(drive.arrival.stalled_s), i == 0);
        assert_true(drive.arrival.clutch_down); /* as called, though it came up to pull away */
        free(script);
        sl_drive_clear(&drive);
    }
    fixture_clear(&f);
}

/* At a closed junction, with the clutch called down, in any gear: a car that waits stands before
 * the line; one that is told to go does not roll to a stop behind it: it goes, or stalls in too
 * high a gear. */
static void with_the_clutch_down_a_car_waits_or_goes_in_any_gear(void **state)
{
    (void)state;
    static const char *const decisions[] = {"wait", "go"};
    struct drive_fixture f;
    fixture_make(&f);
    f.junction.view = SL_VIEW_CLOSED;
    fixture_plan_again(&f);
    for (size_t i = 0; i < 2 * (size_t)f.car.n_gears; i++) {
        size_t gear = 1 + i / 2;
        bool goes = i % 2 == 1;
        char *script = sl_strf("speed 5 @%.2f; gear %zu down @%.2f; decide %s @%.2f",
                               f.plan.brake_s, gear, f.plan.gear_s, decisions[i % 2],
                               goes ? f.plan.windows[DECIDE].due_s : f.plan.stop_by_s - 2);
        struct sl_drive drive = fixture_drive(&f, script);
        const struct sl_arrival *arrival = &drive.arrival;
        if (goes) {
            assert_true(arrival->reached);
            assert_int_equal(isnan(arrival->stands_m), gear <= 2);
            assert_int_equal(isnan(arrival->stalled_s), gear <= 2);
            assert_int_equal(names(&drive, SL_JUDDER), gear == 2); /* 554 rpm */
            assert_false(names(&drive, SL_OVER_THE_LINE));
        } else {
            assert_near(arrival->stands_m, SL_FEET_STOP_M, 0.2);
            assert_true(isnan(arrival->stalled_s));
        }
        assert_false(names(&drive, SL_CLUTCH_UP_AT_LINE)); /* it was called down */
        free(script);
        sl_drive_clear(&drive);
    }
    fixture_clear(&f);
}

static void slow_down_without_a_figure_lifts_the_foot(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    struct sl_drive drive = fixture_drive(&f, "speed @8; gear 2 up @20");
    assert_true(names(&drive, SL_NO_SPEED_NAMED));
    assert_true(drive.arrival.speed_mps < f.plan.approach_mps - 1);
    for (size_t i = 0; i < drive.n_samples && drive.samples[i].time_s < 15; i++) {
        assert_false(drive.samples[i].braking);
    }
    sl_drive_clear(&drive);
    fixture_clear(&f);
}

static void the_trace_is_read_between_its_samples(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    struct sl_drive drive = fixture_drive(&f, "speed 10 @3");
    for (size_t i = 0; i + 1 < drive.n_samples; i++) {
        assert_near(drive.samples[i].time_s, (double)i * SL_DRIVE_SAMPLE_S, 0.011);
    }
    struct sl_drive_sample middle = sl_drive_at(&drive, 3.525);
    double mean = (drive.samples[70].speed_mps + drive.samples[71].speed_mps) / 2;
    assert_near(middle.speed_mps, mean, 1e-9);
    assert_near(sl_drive_at(&drive, -5).time_s, 0, 1e-9);
    assert_near(sl_drive_time_s(&drive, middle.distance_m), 3.525, 1e-6); /* the other way */
    assert_near(sl_drive_time_s(&drive, f.plan.distance_m + 10), 0, 1e-9);
    assert_true(isnan(sl_drive_time_s(&drive, -100)));
    double end_s = drive.samples[drive.n_samples - 1].time_s;
    assert_near(sl_drive_at(&drive, 1e6).time_s, end_s, 1e-9);
    sl_drive_clear(&drive);
    fixture_clear(&f);
}

static void say_anything(struct drive_fixture *f, uint64_t *chance)
{
    char text[] = "anything";
    double at_s = 0;
    sl_heard_clear(&f->words);
    size_t n = random_below(chance, 12);
    for (size_t i = 0; i < n; i++) {
        at_s += 8 * random_share(chance);
        struct sl_heard heard = {.phase = random_below(chance, FIXTURE_PHASES + 1),
                                 .text = text,
                                 .start_s = at_s,
                                 .end_s = at_s + 1,
                                 .unclear = random_below(chance, 8) == 0,
                                 .settings = any_settings(chance)};
        assert_int_equal(sl_heard_add(&f->words, &heard, NULL), SL_OK);
    }
}

static void assert_makes_sense(const struct drive_fixture *f, const struct sl_drive *drive)
{
    double longest_s = f->plan.line_s + 12 * 8 + SL_DRIVE_LONGEST_S + 1;
    assert_true(drive->n_samples > 1);
    for (size_t i = 0; i < drive->n_samples; i++) {
        const struct sl_drive_sample *sample = &drive->samples[i];
        assert_true(isfinite(sample->speed_mps) && sample->speed_mps >= 0);
        assert_true(isfinite(sample->engine_rpm) && sample->engine_rpm >= 0);
        assert_true(isfinite(sample->distance_m) && sample->time_s <= longest_s);
        assert_true(i == 0 || sample->distance_m <= sample[-1].distance_m);
    }
    assert_true(isfinite(drive->arrival.line_s) && isfinite(drive->arrival.speed_mps));
    for (size_t i = 0; i < drive->n_consequences; i++) {
        assert_null(strstr(drive->consequences[i].what, "nan"));
        assert_null(strstr(drive->consequences[i].what, "inf"));
    }
}

static void assert_same(const struct sl_drive *a, const struct sl_drive *b)
{
    assert_int_equal(a->n_samples, b->n_samples);
    assert_int_equal(a->n_consequences, b->n_consequences);
    for (size_t i = 0; i < a->n_samples; i++) {
        assert_true(a->samples[i].speed_mps == b->samples[i].speed_mps);
        assert_true(a->samples[i].distance_m == b->samples[i].distance_m);
        assert_true(a->samples[i].engine_rpm == b->samples[i].engine_rpm);
    }
    for (size_t i = 0; i < a->n_consequences; i++) {
        assert_string_equal(a->consequences[i].what, b->consequences[i].what);
    }
}

/* Thousands of random sequences on all sorts of junctions: no NaN, no negative speed, an end, and
 * the same drive for the same words. */
static void any_words_make_a_drive_that_makes_sense(void **state)
{
    uint64_t chance = 11;
    size_t stalls = 0;
    size_t over = 0;
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    for (int i = 0; i < 3000; i++) {
        struct sl_drive drive = {0};
        if (i % 10 == 0) {
            f.junction.view = (enum sl_view)random_below(&chance, SL_VIEW_COUNT);
            f.junction.turn = (enum sl_turn)random_below(&chance, SL_TURN_COUNT);
            f.junction.kind = f.junction.turn == SL_TURN_AHEAD ? SL_KIND_CROSSROADS : SL_KIND_T;
            f.junction.approach_mps = sl_mps_from_mph(10 + 50 * random_share(&chance));
            f.junction.gradient = 0.2 * (random_share(&chance) - 0.5);
            f.junction.traffic = (enum sl_traffic)random_below(&chance, 3);
            fixture_plan_again(&f);
        }
        say_anything(&f, &chance);
        assert_int_equal(sl_drive_make(&f.driving, &drive, NULL), SL_OK);
        assert_makes_sense(&f, &drive);
        stalls += names(&drive, SL_STALL) ? 1 : 0;
        over += names(&drive, SL_OVER_THE_LINE) ? 1 : 0;
        if (i % 10 == 0) {
            struct sl_drive again = {0};
            struct sl_drive_change change;
            assert_int_equal(sl_drive_make(&f.driving, &again, NULL), SL_OK);
            assert_same(&drive, &again);
            assert_int_equal(sl_drive_one_change(&f.driving, &drive, &change, NULL), SL_OK);
            assert_true(!change.found || change.n_consequences < drive.n_consequences);
            sl_drive_clear(&again);
        }
        sl_drive_clear(&drive);
    }
    assert_true(stalls > 100 && over > 3); /* the words do drive it into trouble */
    fixture_clear(&f);
}

static void ends_are_alike_or_not(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    static const struct {
        const char *script;
        bool alike;
    } rows[] = {
        {"speed 10 @8; gear 2 up @15; decide go @17", true},
        {"mirrors left @2; speed 10 @8; gear 2 up @15.3; decide go @17", true},
        {"speed 10 @8.5; gear 2 up @15; decide go @17", false}, /* sooner at the line */
        {"speed 10 @8; gear 3 up @15; decide go @17", false},
        {"speed 10 @8; gear 2 up @15; decide wait @17", false},
        {"gear 2 up @15", false},
        {"", false},
    };
    struct sl_drive first = fixture_drive(&f, rows[0].script);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_drive drive = fixture_drive(&f, rows[i].script);
        if (sl_arrival_alike(&first.arrival, &drive.arrival) != rows[i].alike) {
            fail_msg("%s", rows[i].script);
        }
        sl_drive_clear(&drive);
    }
    sl_drive_clear(&first);
    fixture_clear(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_said_nothing_happens),
        cmocka_unit_test(slowing_on_time_is_the_planned_one),
        cmocka_unit_test(the_later_the_word_the_firmer_the_brake),
        cmocka_unit_test(what_is_unclear_moves_nothing_and_is_told_so),
        cmocka_unit_test(the_last_gear_called_counts),
        cmocka_unit_test(words_of_the_announcement_are_not_the_learners),
        cmocka_unit_test(a_car_that_waited_goes_on_in_first_gear),
        cmocka_unit_test(with_the_clutch_down_a_car_waits_or_goes_in_any_gear),
        cmocka_unit_test(slow_down_without_a_figure_lifts_the_foot),
        cmocka_unit_test(the_trace_is_read_between_its_samples),
        cmocka_unit_test(any_words_make_a_drive_that_makes_sense),
        cmocka_unit_test(ends_are_alike_or_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
