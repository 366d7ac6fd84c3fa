/*
 * A run at a shipped junction, for pages: the gear is late, the decision is missed. Include after
 * cmocka.h.
 */
#ifndef SL_TESTS_PAGE_SCENE_H
#define SL_TESTS_PAGE_SCENE_H

#include "core/units.h"
#include "files/models.h"
#include "report/table.h"

#include <stdlib.h>

#define FROM_S 2.0 /* where in the recording the junction was announced */

struct scene {
    struct sl_junction junction;
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_heard_list heard;
    struct sl_level_report levels;
    struct sl_mark mark;
    struct sl_mark_view view;
};

/* Something said, from at_s after the announcement, for 0.8 s. */
static inline void say(struct scene *scene, size_t phase, double at_s, const char *text,
                       struct sl_settings settings)
{
    char *copy = sl_strdup(text);
    struct sl_heard heard = {.phase = phase,
                             .text = copy,
                             .start_s = FROM_S + at_s,
                             .end_s = FROM_S + at_s + 0.8,
                             .confidence = 0.9,
                             .settings = settings};
    assert_int_equal(sl_heard_add(&scene->heard, &heard, NULL), SL_OK);
    free(copy);
}

/* `words` are what is heard of the mirrors. Release with scene_end. */
static inline void scene_begin(struct scene *scene, const char *words, bool timed)
{
    struct sl_settings mirrors = {.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT}, .n_mirrors = 2};
    *scene = (struct scene){.levels = {.duration_s = 31.25}};
    assert_int_equal(sl_load_junction("t-left-open", &scene->junction, NULL), SL_OK);
    assert_int_equal(sl_load_routine("decide-last", &scene->routine, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &scene->car, NULL), SL_OK);
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
    say(scene, 0, 4.0, words, mirrors);
    say(scene, 1, 8.0, "signal left", (struct sl_settings){.signal = SL_SIGNAL_LEFT});
    say(scene, 2, 11.0, "down to ten", (struct sl_settings){.speed_mps = 10.0 * SL_MPS_PER_MPH});
    say(scene, 3, 21.0, "second gear clutch up",
        (struct sl_settings){.gear = 2, .clutch = SL_CLUTCH_UP});
    const struct sl_task task = {
        &scene->routine, &scene->junction, &scene->plan, {.timed = timed, .from_s = FROM_S}};
    assert_int_equal(sl_mark_make(&task, &scene->heard, &scene->mark, NULL), SL_OK);
    scene->view = (struct sl_mark_view){.file = "run.flac",
                                        .routine = &scene->routine,
                                        .junction = &scene->junction,
                                        .plan = &scene->plan,
                                        .levels = &scene->levels,
                                        .heard = &scene->heard,
                                        .mark = &scene->mark,
                                        .from_s = FROM_S};
}

static inline void scene_end(struct scene *scene)
{
    sl_junction_clear(&scene->junction);
    sl_routine_clear(&scene->routine);
    sl_car_clear(&scene->car);
    sl_heard_clear(&scene->heard);
    sl_mark_clear(&scene->mark);
}

#endif
