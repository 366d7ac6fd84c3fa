/*
 * What a run is about: a junction, its plan and what the routine wants there.
 */
#ifndef CORPUS_SCENE_H
#define CORPUS_SCENE_H

#include "core/junction.h"
#include "core/plan.h"
#include "core/routine.h"
#include "core/status.h"

/* Initialise with {0}; release with corpus_scene_clear. */
struct corpus_scene {
    struct sl_junction junction;
    const struct sl_routine *routine; /* the caller's */
    struct sl_plan plan;
    struct sl_wanted wanted[SL_PHASE_MAX];
};

/* Loads the junction of this name from models/ and plans the approach for `routine`, which must
 * outlive the scene. */
enum sl_status corpus_scene_load(const char *junction, const struct sl_routine *routine,
                                 struct corpus_scene *scene, struct sl_error *error);

/* Whether leaving out this phase is a fault: going ahead, no signal need be mentioned. */
bool corpus_scene_needs(const struct corpus_scene *scene, size_t phase);

void corpus_scene_clear(struct corpus_scene *scene);

#endif
