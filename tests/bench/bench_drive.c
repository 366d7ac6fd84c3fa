/*
 * How much faster than real time a drive is computed: every shipped junction and car with the
 * planned words, over and over; prints the ratio of driven time to processor time.
 */
#include "core/drive.h"
#include "files/models.h"

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

/* Drives ROUNDS times; adds what was driven, in seconds. */
static bool drive_junction(const char *junction_name, const char *car_name, double *driven_s)
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
        driven_s[0] += done ? drive.samples[drive.n_samples - 1].time_s : 0;
    }
    driven_s[1] += (double)(clock() - begun) / CLOCKS_PER_SEC;
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
    double driven_s[2] = {0, 0}; /* driven, computed */
    bool done = sl_models_list("junctions", &junctions, &n_junctions, NULL) == SL_OK &&
                sl_models_list("cars", &cars, &n_cars, NULL) == SL_OK;
    for (size_t i = 0; done && i < n_junctions * n_cars; i++) {
        done = drive_junction(junctions[i / n_cars], cars[i % n_cars], driven_s);
    }
    if (done) {
        printf("%.0f s driven in %.3f s: %.0f times as fast as real time\n", driven_s[0],
               driven_s[1], driven_s[0] / driven_s[1]);
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
