/*
 * How much faster than real time a drive is computed, and its sound is made: every shipped junction
 * and car with the planned words, over and over; prints the ratios of driven time to processor
 * time.
 */
#include "core/drive.h"
#include "files/models.h"
#include "practice/live_car.h"
#include "sound/endpoint.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define ROUNDS 20

/* The planned words, without their texts. */
static bool say_planned(const struct sl_task *task, struct sl_heard_list *words)
{
    static char text[] = "words";
    bool said = true;
    for (size_t i = 0; i < task->routine->n_phases; i++) {
        struct sl_heard heard = {.phase = i, .text = text, .confidence = 1.0};
        heard.settings =
            sl_routine_wanted(task->routine, i, task->junction, task->plan->view).settings;
        heard.start_s = task->plan->windows[i].due_s;
        heard.end_s = heard.start_s + 1.5;
        said = said && sl_heard_add(words, &heard, NULL) == SL_OK;
    }
    return said;
}

/* What was driven, or made as sound, and what that took, in seconds. */
struct ratio {
    double driven_s, computed_s;
};

static void print_ratio(const char *what, const struct ratio *ratio)
{
    printf("%.0f s %s in %.3f s: %.0f times as fast as real time\n", ratio->driven_s, what,
           ratio->computed_s, ratio->driven_s / ratio->computed_s);
}

/* The sound of the drive from its beginning to its end, 10 ms at a time as live. */
static bool sound(const struct sl_driving *driving, struct ratio *made)
{
    enum { BLOCK = 160 };
    const double block_s = BLOCK / (double)SL_SOUND_RATE_HZ;
    struct sl_live_car *car = NULL;
    if (sl_live_car_new(driving->task, driving->car, &car, NULL) != SL_OK) {
        return false;
    }
    bool done = sl_live_car_hear(car, driving->heard, 0) == SL_OK;
    sl_live_car_look(car);
    clock_t begun = clock();
    for (double at_s = 0; at_s < sl_live_car_end_s(car); at_s += block_s) {
        int16_t frames[BLOCK] = {0};
        sl_live_car_mix(car, at_s, frames, BLOCK);
        made->driven_s += block_s;
    }
    made->computed_s += (double)(clock() - begun) / CLOCKS_PER_SEC;
    sl_live_car_free(car);
    return done;
}

/* Drives ROUNDS times and makes the sound once; adds to both ratios. */
static bool drive_junction(const char *junction_name, const char *car_name, struct ratio *driven,
                           struct ratio *made)
{
    struct sl_junction junction = {0};
    struct sl_routine routine = {0};
    struct sl_car car = {0};
    struct sl_plan plan;
    struct sl_heard_list words = {0};
    struct sl_drive drive = {0};
    bool done = sl_load_junction(junction_name, &junction, NULL) == SL_OK &&
                sl_load_routine("decide-last", &routine, NULL) == SL_OK &&
                sl_load_car(car_name, &car, NULL) == SL_OK &&
                sl_plan_make(&junction, &routine, &car, &plan, NULL) == SL_OK;
    struct sl_task task = {.routine = &routine, .junction = &junction, .plan = &plan};
    struct sl_driving driving = {.task = &task, .car = &car, .heard = &words};
    done = done && say_planned(&task, &words);
    clock_t begun = clock();
    for (int i = 0; done && i < ROUNDS; i++) {
        done = sl_drive_make(&driving, &drive, NULL) == SL_OK;
        driven->driven_s += done ? drive.samples[drive.n_samples - 1].time_s : 0;
    }
    driven->computed_s += (double)(clock() - begun) / CLOCKS_PER_SEC;
    done = done && sound(&driving, made);
    sl_drive_clear(&drive);
    sl_heard_clear(&words);
    sl_car_clear(&car);
    sl_routine_clear(&routine);
    sl_junction_clear(&junction);
    return done;
}

int main(void)
{
    char **junctions = NULL;
    char **cars = NULL;
    size_t n_junctions = 0;
    size_t n_cars = 0;
    struct ratio driven = {0, 0};
    struct ratio made = {0, 0};
    bool done = sl_models_list("junctions", &junctions, &n_junctions, NULL) == SL_OK &&
                sl_models_list("cars", &cars, &n_cars, NULL) == SL_OK;
    for (size_t i = 0; done && i < n_junctions * n_cars; i++) {
        done = drive_junction(junctions[i / n_cars], cars[i % n_cars], &driven, &made);
    }
    if (done) {
        print_ratio("driven", &driven);
        print_ratio("of the car's sound", &made);
    }
    for (size_t i = 0; i < n_junctions; i++) {
        free(junctions[i]);
    }
    for (size_t i = 0; i < n_cars; i++) {
        free(cars[i]);
    }
    free(junctions);
    free(cars);
    return done ? EXIT_SUCCESS : EXIT_FAILURE;
}
