#include "scene.h"

#include "core/str.h"
#include "core/units.h"

#include <stdlib.h>
#include <string.h>

/* Placeholder until junctions and routines are read from models/: untimed runs only. */
static enum sl_status builtin(const char *junction, struct corpus_scene *scene)
{
    static const char *const ids[] = {"mirrors", "signal", "speed", "gear", "decide"};
    static const unsigned carries[] = {SL_SET_MIRRORS, SL_SET_SIGNAL, SL_SET_SPEED,
                                       (unsigned)SL_SET_GEAR | SL_SET_CLUTCH, SL_SET_DECISION};
    struct sl_routine *routine = &scene->routine;
    routine->name = sl_strdup("decide-last");
    routine->phases = calloc(5, sizeof *routine->phases);
    routine->n_phases = 5;
    for (size_t i = 0; i < 5; i++) {
        routine->phases[i] = (struct sl_phase){
            .id = sl_strdup(ids[i]), .carries = carries[i], .required = carries[i]};
    }
    routine->view[SL_VIEW_OPEN] =
        (struct sl_wanted){.settings = {.speed_mps = sl_mps_from_mph(10), .gear = 2, .clutch = 1},
                           .speed_min_mps = sl_mps_from_mph(8),
                           .speed_max_mps = sl_mps_from_mph(12)};
    routine->view[SL_VIEW_CLOSED] =
        (struct sl_wanted){.settings = {.speed_mps = sl_mps_from_mph(5), .gear = 1, .clutch = 2},
                           .speed_min_mps = sl_mps_from_mph(3),
                           .speed_max_mps = sl_mps_from_mph(6)};
    routine->turn[SL_TURN_LEFT] = (struct sl_settings){
        .mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT}, .n_mirrors = 2, .signal = SL_SIGNAL_LEFT};
    routine->turn[SL_TURN_RIGHT] =
        (struct sl_settings){.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_RIGHT},
                             .n_mirrors = 2,
                             .signal = SL_SIGNAL_RIGHT};
    scene->junction.name = sl_strdup(junction);
    scene->junction.turn = strstr(junction, "left") != NULL ? SL_TURN_LEFT : SL_TURN_RIGHT;
    scene->junction.view = strstr(junction, "open") != NULL ? SL_VIEW_OPEN : SL_VIEW_CLOSED;
    scene->plan.view = scene->junction.view;
    return SL_OK;
}

enum sl_status corpus_scene_load(const char *junction, const char *routine,
                                 struct corpus_scene *scene, struct sl_error *error)
{
    (void)routine;
    (void)error;
    struct corpus_scene loaded = {0};
    builtin(junction, &loaded);
    for (size_t i = 0; i < loaded.routine.n_phases; i++) {
        loaded.wanted[i] =
            sl_routine_wanted(&loaded.routine, i, &loaded.junction, loaded.plan.view);
    }
    *scene = loaded;
    return SL_OK;
}

void corpus_scene_clear(struct corpus_scene *scene)
{
    free(scene->junction.name);
    sl_routine_clear(&scene->routine);
    *scene = (struct corpus_scene){0};
}
