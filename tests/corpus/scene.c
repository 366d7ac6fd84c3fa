#include "scene.h"

#include "files/models.h"

#define CAR "small-petrol"

static enum sl_status plan(const struct sl_routine *routine, struct corpus_scene *scene,
                           struct sl_error *error)
{
    struct sl_car car = {0};
    enum sl_status status = sl_load_car(CAR, &car, error);
    if (status == SL_OK) {
        status = sl_plan_make(&scene->junction, routine, &car, &scene->plan, error);
    }
    sl_car_clear(&car);
    return status;
}

enum sl_status corpus_scene_load(const char *junction, const struct sl_routine *routine,
                                 struct corpus_scene *scene, struct sl_error *error)
{
    struct corpus_scene loaded = {.routine = routine};
    enum sl_status status = sl_load_junction(junction, &loaded.junction, error);
    if (status == SL_OK) {
        status = plan(routine, &loaded, error);
    }
    if (status != SL_OK) {
        corpus_scene_clear(&loaded);
        return status;
    }
    for (size_t i = 0; i < routine->n_phases; i++) {
        loaded.wanted[i] = sl_routine_wanted(routine, i, &loaded.junction, loaded.plan.view);
    }
    *scene = loaded;
    return SL_OK;
}

bool corpus_scene_needs(const struct corpus_scene *scene, size_t phase)
{
    return scene->junction.turn != SL_TURN_AHEAD || scene->junction.signal_misleads ||
           scene->wanted[phase].settings.signal != SL_SIGNAL_NONE;
}

void corpus_scene_clear(struct corpus_scene *scene)
{
    sl_junction_clear(&scene->junction);
    *scene = (struct corpus_scene){0};
}
