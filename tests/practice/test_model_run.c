#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "core/str.h"
#include "files/models.h"
#include "practice/mark_recording.h"
#include "practice/model_run.h"
#include "sound/endpoint_simulated.h"
#include "support/near.h"
#include "support/temp_folder.h"

struct scene {
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    struct sl_routine routine;
    struct sl_car car;
    struct sl_cue_voice *voice;
    struct sl_recogniser *recogniser;
    struct sl_junction junction;
    struct sl_plan plan;
    struct sl_model_run run;
};

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    struct sl_cue_voice_choice choice = {0};
    assert_int_equal(temp_folder_make(&scene->folder), 0);
    temp_folder_name(&scene->folder, "model.flac", scene->path);
    assert_int_equal(sl_load_car("small-petrol", &scene->car, NULL), SL_OK);
    assert_int_equal(sl_cue_voice_open(&choice, &scene->voice, NULL), SL_OK);
    *state = scene;
    return 0;
}

static void clear_junction(struct scene *scene)
{
    sl_model_run_clear(&scene->run);
    sl_junction_clear(&scene->junction);
}

static void clear_routine(struct scene *scene)
{
    sl_recogniser_free(scene->recogniser);
    scene->recogniser = NULL;
    sl_routine_clear(&scene->routine);
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    clear_junction(scene);
    clear_routine(scene);
    sl_car_clear(&scene->car);
    sl_cue_voice_close(scene->voice);
    temp_folder_remove(&scene->folder);
    free(scene);
    return 0;
}

static void load_routine(struct scene *scene, const char *name)
{
    clear_routine(scene);
    assert_int_equal(sl_load_routine(name, &scene->routine, NULL), SL_OK);
}

static void make_run(struct scene *scene, const char *junction)
{
    clear_junction(scene);
    assert_int_equal(sl_load_junction(junction, &scene->junction, NULL), SL_OK);
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
    struct sl_cueing cueing = {
        .junction = &scene->junction, .routine = &scene->routine, .plan = &scene->plan};
    assert_int_equal(sl_model_run_make(&cueing, scene->voice, false, &scene->run, NULL), SL_OK);
}

static void what_is_played_is_what_was_made(void **state)
{
    struct scene *scene = *state;
    load_routine(scene, "decide-last");
    make_run(scene, "t-left-open");
    struct sl_simulation silent_room = {0};
    struct sl_endpoint endpoint = {0};
    assert_int_equal(sl_endpoint_simulated_open(&silent_room, &endpoint, NULL), SL_OK);
    assert_int_equal(sl_model_run_play(&scene->run, &endpoint, NULL), SL_OK);
    const int16_t *played = NULL;
    size_t n_played = 0;
    sl_endpoint_simulated_played(&endpoint, &played, &n_played);
    size_t n = (size_t)sl_cue_player_end_frame(scene->run.player);
    assert_true(n_played >= n);
    assert_near((double)n / SL_CLIP_RATE_HZ + SL_MODEL_TAIL_S, sl_model_run_length_s(&scene->run),
                1e-6);
    int16_t *made = malloc(n * sizeof *made);
    sl_cue_player_render(scene->run.player, 0, made, n);
    assert_memory_equal(played, made, n * sizeof *made);
    free(made);
    sl_endpoint_close(&endpoint);
}

static void a_speaker_that_goes_away_is_an_error(void **state)
{
    struct scene *scene = *state;
    load_routine(scene, "decide-last");
    make_run(scene, "t-left-open");
    struct sl_simulation unplugged = {.gone_at = 16000};
    struct sl_endpoint endpoint = {0};
    struct sl_error error = {0};
    assert_int_equal(sl_endpoint_simulated_open(&unplugged, &endpoint, NULL), SL_OK);
    assert_int_equal(sl_model_run_play(&scene->run, &endpoint, &error), SL_DEVICE);
    assert_non_null(error.mend);
    sl_error_clear(&error);
    sl_endpoint_close(&endpoint);
}

static void new_recogniser(struct scene *scene)
{
    char *pronunciations = NULL;
    assert_int_equal(sl_models_path("pronunciations.dict", &pronunciations, NULL), SL_OK);
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    assert_int_equal(sl_recogniser_new(&scene->routine, &paths, NULL, &scene->recogniser, NULL),
                     SL_OK);
    free(pronunciations);
}

/* Writes the run and marks the file; true when every score is full. */
static bool scores_full(struct scene *scene)
{
    struct sl_task task = {.routine = &scene->routine,
                           .junction = &scene->junction,
                           .plan = &scene->plan,
                           .options = {.timed = true, .from_s = sl_model_run_from_s(&scene->run)}};
    struct sl_marker marker = {.recogniser = scene->recogniser};
    struct sl_attempt attempt = {0};
    assert_int_equal(sl_model_run_write(&scene->run, scene->path, NULL), SL_OK);
    assert_int_equal(sl_mark_recording(&task, scene->path, &marker, &attempt, NULL), SL_OK);
    const struct sl_scores *scores = &attempt.mark.scores;
    bool full = attempt.mark.n_faults == 0 && scores->overall > 99.99;
    if (!full) {
        print_message("%s with %s: order %.0f, completeness %.0f, settings %.0f, timing %.0f\n",
                      scene->junction.name, scene->routine.name, scores->order,
                      scores->completeness, scores->settings, scores->timing);
    }
    sl_attempt_clear(&attempt);
    return full;
}

/* What is said after the announcement, and when: junctions that agree in it sound alike there. */
static char *phrases_of(const struct sl_model_run *run)
{
    struct sl_str text = {0};
    for (size_t i = 1; i < run->cues.count; i++) {
        sl_str_addf(&text, "%.4f %s\n", run->cues.items[i].at_s, run->cues.items[i].text);
    }
    return sl_str_take(&text);
}

/* The texts of the runs that were heard with this routine. */
struct seen {
    char *texts[64];
    size_t n;
};

/* True when a run like this one was heard before; else it is remembered. */
static bool seen_before(struct seen *seen, const struct sl_model_run *run)
{
    char *text = phrases_of(run);
    for (size_t i = 0; i < seen->n; i++) {
        if (strcmp(seen->texts[i], text) == 0) {
            free(text);
            return true;
        }
    }
    assert_true(seen->n < 64);
    seen->texts[seen->n++] = text;
    return false;
}

static void forget(struct seen *seen)
{
    while (seen->n > 0) {
        free(seen->texts[--seen->n]);
    }
}

/* Heard once for each different commentary, as listening takes a second or more. */
static void the_model_of_every_shipped_junction_is_heard_and_scores_full(void **state)
{
    struct scene *scene = *state;
    struct seen seen = {0};
    size_t different = 0;
    static const char *const routines[] = {"decide-last", "position-look"};
    char **junctions = NULL;
    size_t n_junctions = 0;
    size_t full = 0;
    assert_int_equal(sl_models_list("junctions", &junctions, &n_junctions, NULL), SL_OK);
    for (size_t r = 0; r < 2; r++) {
        load_routine(scene, routines[r]);
        new_recogniser(scene);
        for (size_t j = 0; j < n_junctions; j++) {
            make_run(scene, junctions[j]);
            if (!seen_before(&seen, &scene->run)) {
                different++;
                full += scores_full(scene) ? 1 : 0;
            }
        }
        forget(&seen);
    }
    for (size_t j = 0; j < n_junctions; j++) {
        free(junctions[j]);
    }
    free(junctions);
    assert_true(different >= 20);
    assert_int_equal(full, different);
}

int main(void)
{
#define WITH_SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        WITH_SCENE(what_is_played_is_what_was_made),
        WITH_SCENE(a_speaker_that_goes_away_is_an_error),
        WITH_SCENE(the_model_of_every_shipped_junction_is_heard_and_scores_full),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
