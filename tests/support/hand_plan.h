/*
 * Plans of hand-made junctions with the hand-made routine and car. Include after cmocka.h.
 */
#ifndef SL_TESTS_HAND_PLAN_H
#define SL_TESTS_HAND_PLAN_H

#include "core/plan.h"
#include "core/units.h"
#include "support/hand_routine.h"
#include "support/near.h"

static const enum sl_moment hand_moments[] = {SL_MOMENT_MIRRORS, SL_MOMENT_SIGNAL, SL_MOMENT_BRAKE,
                                              SL_MOMENT_GEAR, SL_MOMENT_DECIDE};
/* The indices of the phases. */
enum { MIRRORS, SIGNAL, SPEED, GEAR, DECIDE };

static inline struct hand_phases hand_phases_usual(void)
{
    return hand_phases(hand_moments, sizeof hand_moments / sizeof *hand_moments);
}

/* A T-junction at 30 mph, level, open, as long as the plan needs. */
static inline struct sl_junction hand_junction(void)
{
    return (struct sl_junction){.kind = SL_KIND_T, .approach_mps = 30 * SL_MPS_PER_MPH};
}

static inline enum sl_status hand_plan_make(const struct sl_junction *junction,
                                            struct sl_plan *plan, struct sl_error *error)
{
    struct hand_phases phases = hand_phases_usual();
    struct sl_routine routine = hand_routine(&phases);
    struct sl_car car = hand_car();
    return sl_plan_make(junction, &routine, &car, plan, error);
}

/* The plan of a junction that has one. */
static inline struct sl_plan hand_plan(const struct sl_junction *junction)
{
    struct sl_plan plan = {0};
    assert_int_equal(hand_plan_make(junction, &plan, NULL), SL_OK);
    return plan;
}

static inline void check_window(const struct sl_window *got, double opens_s, double due_s,
                                double closes_s)
{
    assert_near(got->opens_s, opens_s, 1e-3);
    assert_near(got->due_s, due_s, 1e-3);
    assert_near(got->closes_s, closes_s, 1e-3);
}

#endif
