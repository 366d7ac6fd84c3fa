/*
 * A routine built by hand, with the speeds and the timing that ship, for tests that read no file.
 * It has no phrases and no reasons: enough for a plan.
 */
#ifndef SL_TESTS_HAND_ROUTINE_H
#define SL_TESTS_HAND_ROUTINE_H

#include "core/units.h"
#include "support/hand_values.h"

/* The phases of one routine; zero-initialised members are not looked at by a plan. */
struct hand_phases {
    struct sl_phase phases[SL_PHASE_MAX];
    size_t n_phases;
};

static inline struct hand_phases hand_phases(const enum sl_moment *moments, size_t n_moments)
{
    struct hand_phases made = {.n_phases = n_moments};
    for (size_t i = 0; i < n_moments; i++) {
        made.phases[i].moment = moments[i];
    }
    return made;
}

static inline struct sl_wanted hand_wanted(double mph, int gear, enum sl_clutch clutch)
{
    double speed_mps = sl_mps_from_mph(mph);
    return (struct sl_wanted){
        .settings = {.speed_mps = speed_mps, .gear = gear, .clutch = clutch},
        .speed_min_mps = speed_mps,
        .speed_max_mps = speed_mps,
    };
}

/* Open 10 mph, second gear, clutch up; closed and stop line 5 mph, first gear, clutch down: common
 * practice, no source. Slowing: firm is UK comfort, 0.25 g (Highway Engineering, p. 164; read in a
 * secondary copy); reaction near the 0.682 s that the Highway Code's rule 126 implies. The phases
 * stay the caller's. */
static inline struct sl_routine hand_routine(struct hand_phases *phases)
{
    return (struct sl_routine){
        .phases = phases->phases,
        .n_phases = phases->n_phases,
        .view = {[SL_VIEW_OPEN] = hand_wanted(10, 2, SL_CLUTCH_UP),
                 [SL_VIEW_CLOSED] = hand_wanted(5, 1, SL_CLUTCH_DOWN)},
        .stop = hand_wanted(5, 1, SL_CLUTCH_DOWN),
        .timing = hand_timing(),
    };
}

#endif
