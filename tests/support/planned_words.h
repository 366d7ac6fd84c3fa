/*
 * The words of a plan: every phase said right when it is due, and what a test makes of them.
 * Include after cmocka.
 */
#ifndef SL_TESTS_PLANNED_WORDS_H
#define SL_TESTS_PLANNED_WORDS_H

#include "core/drive.h"
#include "core/str.h"
#include "files/models.h"

#include <stdlib.h>

/* A junction with all that it takes to drive to it. */
struct planned {
    struct sl_junction junction;
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_task task;
    struct sl_heard_list words;
    struct sl_driving driving;
};

/* Says one phase at a time, with these settings. Words must be said in order of time. */
static inline void planned_say(struct planned *planned, size_t phase, double at_s,
                               const struct sl_settings *settings)
{
    char text[] = "words";
    struct sl_heard heard = {.phase = phase,
                             .text = text,
                             .start_s = at_s,
                             .end_s = at_s + 1.2,
                             .confidence = 0.9,
                             .settings = *settings};
    assert_int_equal(sl_heard_add(&planned->words, &heard, NULL), SL_OK);
}

/* What is right to say in a phase; the way is clear where the junction leaves it open. */
static inline struct sl_settings planned_right(const struct planned *planned, size_t phase)
{
    struct sl_settings right =
        sl_routine_wanted(&planned->routine, phase, &planned->junction, planned->plan.view)
            .settings;
    if ((planned->routine.phases[phase].carries & SL_SET_DECISION) != 0 &&
        right.decision == SL_DECISION_UNSAID) {
        right.decision = SL_DECISION_GO;
    }
    return right;
}

/* Loads and plans; false where there is no plan for them together. Nothing is said yet. Release
 * with planned_clear in every case. */
static inline bool planned_load(struct planned *planned, const char *junction, const char *routine,
                                const char *car)
{
    struct sl_error error = {0};
    *planned = (struct planned){0};
    if (sl_load_junction(junction, &planned->junction, &error) != SL_OK ||
        sl_load_routine(routine, &planned->routine, &error) != SL_OK ||
        sl_load_car(car, &planned->car, &error) != SL_OK) {
        fail_msg("%s", error.what);
    }
    enum sl_status status =
        sl_plan_make(&planned->junction, &planned->routine, &planned->car, &planned->plan, &error);
    sl_error_clear(&error);
    planned->task = (struct sl_task){.routine = &planned->routine,
                                     .junction = &planned->junction,
                                     .plan = &planned->plan,
                                     .options = {.timed = true}};
    planned->driving =
        (struct sl_driving){.task = &planned->task, .car = &planned->car, .heard = &planned->words};
    return status == SL_OK;
}

static inline void planned_say_all(struct planned *planned)
{
    for (size_t i = 0; i < planned->routine.n_phases; i++) {
        struct sl_settings right = planned_right(planned, i);
        planned_say(planned, i, planned->plan.windows[i].due_s, &right);
    }
}

static inline void planned_clear(struct planned *planned)
{
    sl_heard_clear(&planned->words);
    sl_junction_clear(&planned->junction);
    sl_routine_clear(&planned->routine);
    sl_car_clear(&planned->car);
}

/* "gear-late, judder"; the caller frees. */
static inline char *drive_words(const struct sl_drive *drive)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < drive->n_consequences; i++) {
        sl_str_addf(&text, "%s%s", i > 0 ? ", " : "",
                    sl_consequence_word(drive->consequences[i].kind));
    }
    return sl_str_take(&text);
}

#endif
