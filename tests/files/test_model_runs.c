/* The shipped routines, junctions and cars, marked: what they ask for, said when it is due, is
 * right. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/marking.h"
#include "core/str.h"
#include "files/models.h"
#include "support/near.h"

struct scene {
    struct sl_routine routine;
    struct sl_junction junction;
    struct sl_car car;
    struct sl_plan plan;
};

static void open_scene(struct scene *scene, const char *routine, const char *junction,
                       const char *car)
{
    *scene = (struct scene){0};
    assert_int_equal(sl_load_routine(routine, &scene->routine, NULL), SL_OK);
    assert_int_equal(sl_load_junction(junction, &scene->junction, NULL), SL_OK);
    assert_int_equal(sl_load_car(car, &scene->car, NULL), SL_OK);
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
}

static void close_scene(struct scene *scene)
{
    sl_routine_clear(&scene->routine);
    sl_junction_clear(&scene->junction);
    sl_car_clear(&scene->car);
}

/* Says every phase when it is due, with what the junction wants; a wait where nothing is wanted. */
static struct sl_heard_list model_run(const struct scene *scene)
{
    struct sl_heard_list list = {0};
    for (size_t phase = 0; phase < scene->routine.n_phases; phase++) {
        struct sl_wanted wanted =
            sl_routine_wanted(&scene->routine, phase, &scene->junction, scene->plan.view);
        struct sl_heard heard = {.phase = phase,
                                 .start_s = scene->plan.windows[phase].due_s,
                                 .end_s = scene->plan.windows[phase].due_s + 0.8,
                                 .settings = wanted.settings,
                                 .confidence = 1};
        if ((scene->routine.phases[phase].carries & SL_SET_DECISION) != 0 &&
            heard.settings.decision == SL_DECISION_UNSAID) {
            heard.settings.decision = SL_DECISION_WAIT;
        }
        assert_int_equal(sl_heard_add(&list, &heard, NULL), SL_OK);
    }
    return list;
}

static void check_model_run(const char *routine, const char *junction, const char *car)
{
    struct scene scene;
    open_scene(&scene, routine, junction, car);
    struct sl_heard_list heard = model_run(&scene);
    const struct sl_mark_options options = {.timed = true};
    struct sl_mark mark = {0};
    const struct sl_task task = {&scene.routine, &scene.junction, &scene.plan, options};
    assert_int_equal(sl_mark_make(&task, &heard, &mark, NULL), SL_OK);
    for (size_t i = 0; i < mark.n_faults; i++) {
        print_error("%s, %s, %s: %s\n", routine, junction, car, mark.faults[i].what);
    }
    assert_int_equal(mark.n_faults, 0);
    assert_near(mark.scores.overall, 100, 1e-9);
    sl_mark_clear(&mark);
    sl_heard_clear(&heard);
    close_scene(&scene);
}

static void free_names(char **names, size_t n_names)
{
    for (size_t i = 0; i < n_names; i++) {
        free(names[i]);
    }
    free(names);
}

static void the_model_run_of_every_junction_is_right(void **state)
{
    (void)state;
    char **routines = NULL;
    char **junctions = NULL;
    size_t n_routines = 0;
    size_t n_junctions = 0;
    assert_int_equal(sl_models_list("routines", &routines, &n_routines, NULL), SL_OK);
    assert_int_equal(sl_models_list("junctions", &junctions, &n_junctions, NULL), SL_OK);
    assert_true(n_routines >= 2 && n_junctions >= 20);
    for (size_t i = 0; i < n_routines; i++) {
        for (size_t k = 0; k < n_junctions; k++) {
            check_model_run(routines[i], junctions[k], "small-petrol");
        }
    }
    free_names(routines, n_routines);
    free_names(junctions, n_junctions);
}

struct typed {
    const char *name, *junction, *text, *faults;
};

/* Runs as people would say them, one phrase a second and a half, untimed. */
static const struct typed typed[] = {
    {"in full", "t-left-open",
     "okay, interior mirror, left mirror. Signal left. Slow down to ten miles an hour. Second "
     "gear, "
     "clutch up. It's clear, going.",
     ""},
    {"closed", "t-right-closed",
     "interior mirror and right mirror, signal right, down to five, first gear, clutch down, not "
     "clear, waiting",
     ""},
    {"corrected in time", "t-left-open",
     "interior mirror, left mirror, signal left, slow down to ten, first gear, no, second gear, "
     "clutch up, clear, going",
     ""},
    {"gear before speed", "t-left-open",
     "interior mirror, left mirror, signal left, second gear, slow down to ten, clear, going",
     "gear out-of-order gear-after-speed"},
    {"wrong side, and no gear", "t-left-open",
     "interior mirror, left mirror, signal right, slow down to ten, clear, going",
     "signal wrong-setting wrong-setting, gear missed missed"},
};

/* Phrases found in the text, one after the other. */
static struct sl_heard_list heard_in(const struct sl_routine *routine, const char *text)
{
    struct sl_heard_list list = {0};
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    assert_int_equal(sl_phrasebook_match(&routine->phrasebook, text, &matches, &n_matches, NULL),
                     SL_OK);
    for (size_t i = 0; i < n_matches; i++) {
        struct sl_heard heard = {.phase = routine->phrasebook.phrases[matches[i].phrase].phase,
                                 .start_s = 1.5 * (double)i,
                                 .end_s = 1.5 * (double)i + 1,
                                 .settings = matches[i].settings,
                                 .confidence = 1};
        assert_int_equal(sl_heard_add(&list, &heard, NULL), SL_OK);
    }
    free(matches);
    return list;
}

static void runs_as_people_say_them_are_marked(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
        struct scene scene;
        open_scene(&scene, "decide-last", typed[i].junction, "small-petrol");
        struct sl_heard_list heard = heard_in(&scene.routine, typed[i].text);
        const struct sl_mark_options options = {0};
        struct sl_mark mark = {0};
        const struct sl_task task = {&scene.routine, &scene.junction, &scene.plan, options};
        assert_int_equal(sl_mark_make(&task, &heard, &mark, NULL), SL_OK);
        struct sl_str faults = {0};
        for (size_t k = 0; k < mark.n_faults; k++) {
            sl_str_addf(&faults, "%s%s %s %s", k == 0 ? "" : ", ",
                        scene.routine.phases[mark.faults[k].phase].id,
                        sl_fault_word(mark.faults[k].kind), mark.faults[k].rule);
        }
        if (strcmp(sl_str_text(&faults), typed[i].faults) != 0) {
            print_error("%s\n", typed[i].name);
        }
        assert_string_equal(sl_str_text(&faults), typed[i].faults);
        sl_str_clear(&faults);
        sl_mark_clear(&mark);
        sl_heard_clear(&heard);
        close_scene(&scene);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_model_run_of_every_junction_is_right),
        cmocka_unit_test(runs_as_people_say_them_are_marked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
