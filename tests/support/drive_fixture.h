/*
 * A whole drive made by hand, for tests of the core: the fixture's routine with times of its own, a
 * car without figures of how it moves, and a plan. Include after cmocka.
 */
#ifndef SL_TESTS_DRIVE_FIXTURE_H
#define SL_TESTS_DRIVE_FIXTURE_H

#include "core/drive.h"
#include "support/hand_values.h"
#include "support/random.h"
#include "support/routine_fixture.h"
#include "support/run_script.h"

struct drive_fixture {
    struct sl_routine routine;
    struct sl_junction junction;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_task task;
    struct sl_heard_list words;
    struct sl_driving driving;
};

static inline void fixture_plan_again(struct drive_fixture *f)
{
    struct sl_error error = {0};
    if (sl_plan_make(&f->junction, &f->routine, &f->car, &f->plan, &error) != SL_OK) {
        fail_msg("%s", error.what);
    }
    f->task = (struct sl_task){.routine = &f->routine, .junction = &f->junction, .plan = &f->plan};
    f->driving = (struct sl_driving){.task = &f->task, .car = &f->car, .heard = &f->words};
}

/* Left at an open T at 30 mph. Release with fixture_clear; do not move it. */
static inline void fixture_make(struct drive_fixture *f)
{
    *f = (struct drive_fixture){.routine = fixture_routine(), .junction = fixture_junction()};
    f->routine.timing = hand_timing();
    f->car = hand_car_to_drive();
    fixture_plan_again(f);
}

/* Says a script (support/run_script.h) and drives. Release with sl_drive_clear. */
static inline struct sl_drive fixture_drive(struct drive_fixture *f, const char *script)
{
    struct sl_drive drive = {0};
    sl_heard_clear(&f->words);
    f->words = script_heard(&f->routine, script);
    assert_int_equal(sl_drive_make(&f->driving, &drive, NULL), SL_OK);
    return drive;
}

static inline void fixture_clear(struct drive_fixture *f)
{
    sl_heard_clear(&f->words);
    sl_routine_clear(&f->routine);
}

/* Any words for the feet: speeds, gears, clutch, decisions, often none of them. */
static inline struct sl_settings any_settings(uint64_t *chance)
{
    struct sl_settings said = {0};
    switch (random_below(chance, 7)) {
    case 0:
        said.speed_mps = sl_mps_from_mph((double)(1 + random_below(chance, 40)));
        break;
    case 1:
    case 2:
        said.gear = 1 + (int)random_below(chance, 6);
        said.clutch = (enum sl_clutch)random_below(chance, 3);
        break;
    case 3:
        said.clutch = (enum sl_clutch)random_below(chance, 3);
        break;
    case 4:
    case 5:
        said.decision = (enum sl_decision)random_below(chance, 3);
        break;
    default:
        break;
    }
    return said;
}

#endif
