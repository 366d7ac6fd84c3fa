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
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_wanted wanted[SL_PHASE_MAX];
};

/* Loads the junction and the routine of these names from models/ and plans the approach. */
enum sl_status corpus_scene_load(const char *junction, const char *routine,
                                 struct corpus_scene *scene, struct sl_error *error);

void corpus_scene_clear(struct corpus_scene *scene);

#endif
