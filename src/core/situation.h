/*
 * What others do at a junction, at random from a seed: the same seed, junction and plan give the
 * same. What is called out makes one decision right and the other wrong, or a signal misleading.
 * Invented; what has priority where is the Highway Code's (rules 170 to 172, 180 to 185).
 */
#ifndef SL_CORE_SITUATION_H
#define SL_CORE_SITUATION_H

#include "core/junction.h"
#include "core/plan.h"

#include <stddef.h>
#include <stdint.h>

#define SL_SITUATION_MAX 2

/* Somebody in the car sees something and says so, where the car is when it can be seen: where the
 * planned car is a moment before it has to be known. */
struct sl_road_event {
    double distance_m; /* to the line */
    const char *text;  /* a whole sentence; never freed */
};

struct sl_situation {
    struct sl_road_event events[SL_SITUATION_MAX]; /* in the order of the road */
    size_t n_events;
    enum sl_traffic traffic; /* what the events make of the decision; any: nothing */
    bool signal_misleads;    /* a signal would be misread */
};

/* What happens at the junction. Where it says itself what its traffic is, and at a stop line,
 * nobody else comes; where its signal misleads already, or none is due, no event says so. `routine`
 * is the plan's. */
void sl_situation_make(const struct sl_junction *junction, const struct sl_routine *routine,
                       const struct sl_plan *plan, uint64_t seed, struct sl_situation *situation);

/* Puts it into the junction, for marking and driving. */
void sl_situation_apply(const struct sl_situation *situation, struct sl_junction *junction);

#endif
