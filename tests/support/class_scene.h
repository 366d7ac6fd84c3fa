/*
 * A class that handed in homework: Ada, whose second mark is not ours, somebody without a name
 * whose recording cannot be marked, and a bag that was refused. Include after cmocka.h.
 */
#ifndef SL_TESTS_CLASS_SCENE_H
#define SL_TESTS_CLASS_SCENE_H

#include "core/submission.h"

struct class_scene {
    struct sl_homework_item item;
    struct sl_homework set;
    struct sl_submission_run ada[2], nobody[1];
    struct sl_submission submissions[3];
    struct sl_tally tally; /* empty */
    struct sl_class group;
};

/* All in place; nothing is to be released. */
static inline void class_scene_fill(struct class_scene *scene)
{
    *scene =
        (struct class_scene){.item = {.junction = "t-left-open", .name = "t-left-open", .runs = 2}};
    scene->set = (struct sl_homework){
        .name = "week", .title = "Week 3: <T> & \"lanes\"", .items = &scene->item, .n_items = 1};
    scene->ada[0] = (struct sl_submission_run){.file = "001.flac",
                                               .junction = "t-left-open",
                                               .was_marked = true,
                                               .was_score = 80.004,
                                               .was_faults = 1,
                                               .marked = true,
                                               .score = 80,
                                               .faults = 1};
    scene->ada[1] = (struct sl_submission_run){.file = "002.flac",
                                               .junction = "t-left-open",
                                               .was_marked = true,
                                               .was_score = 99.5,
                                               .marked = true,
                                               .score = 60.25,
                                               .faults = 2,
                                               .objection = "the score is below that of the set"};
    scene->nobody[0] = (struct sl_submission_run){
        .file = "001.flac", .junction = "t-left-open", .failure = "the file is \x1b[31mempty"};
    scene->submissions[0] = (struct sl_submission){.bag = "in/ada.zip",
                                                   .learner = "Ada",
                                                   .date = "2026-03-14",
                                                   .runs = scene->ada,
                                                   .n_runs = 2,
                                                   .state = {.counted = {1}, .uncounted = 1}};
    scene->submissions[1] =
        (struct sl_submission){.bag = "in/x.zip", .runs = scene->nobody, .n_runs = 1};
    scene->submissions[2] = (struct sl_submission){.bag = "in/bad.zip", .refusal = "it is a link"};
    scene->group = (struct sl_class){.set = &scene->set,
                                     .submissions = scene->submissions,
                                     .n_submissions = 3,
                                     .tally = &scene->tally};
}

#endif
