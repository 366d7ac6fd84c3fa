/*
 * One approach on a simulated microphone and speaker, faster than real time.
 */
#ifndef SL_TESTS_REHEARSAL_SCENE_H
#define SL_TESTS_REHEARSAL_SCENE_H

#include "practice/rehearsal.h"

#include "core/str.h"
#include "files/models.h"
#include "practice/cue_player.h"
#include "sound/endpoint_simulated.h"
#include "sound/sound_reader.h"
#include "support/temp_folder.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SCENE_EVENTS_MAX 4096
#define SCENE_LEAD_S 0.5

struct seen {
    enum sl_event_kind kind;
    double at_s;
    size_t phase;
    double cue_at_s;
    double distance_m, speed_mps;
    enum sl_cue_kind cue;
};

struct scene {
    struct temp_folder folder;
    struct sl_junction junction;
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_cue_voice *voice;
    char *pronunciations;
    struct sl_recogniser *recogniser; /* made when it is first needed */

    int16_t *signal; /* what the microphone hears; owned */
    struct sl_simulation simulation;
    struct sl_endpoint endpoint;
    struct sl_rehearsal rehearsal;
    struct sl_rehearsal_result result;
    struct sl_attempt attempt;
    char recording[TEMP_PATH_MAX];

    struct seen seen[SCENE_EVENTS_MAX];
    size_t n_seen;
    unsigned polls, stop_at; /* stop when so many polls came; 0: never */
    unsigned runs;
};

static inline void scene_event(void *user, const struct sl_event *event)
{
    struct scene *scene = user;
    if (event->kind != SL_EVENT_LEVEL) {
        assert_true(scene->n_seen < SCENE_EVENTS_MAX);
        const struct sl_cue *cue = event->cue;
        scene->seen[scene->n_seen++] = (struct seen){event->kind,
                                                     event->at_s,
                                                     event->phase,
                                                     cue == NULL ? NAN : cue->at_s,
                                                     event->distance_m,
                                                     event->speed_mps,
                                                     cue == NULL ? SL_CUE_KIND_COUNT : cue->kind};
    }
}

static inline bool scene_stop(void *user)
{
    struct scene *scene = user;
    scene->polls++;
    return scene->stop_at > 0 && scene->polls >= scene->stop_at;
}

static inline size_t scene_count(const struct scene *scene, enum sl_event_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < scene->n_seen; i++) {
        n += scene->seen[i].kind == kind ? 1 : 0;
    }
    return n;
}

/* The n-th event of a kind; fails when there is none. */
static inline const struct seen *scene_find(const struct scene *scene, enum sl_event_kind kind,
                                            size_t n)
{
    for (size_t i = 0; i < scene->n_seen; i++) {
        if (scene->seen[i].kind == kind && n-- == 0) {
            return &scene->seen[i];
        }
    }
    fail_msg("no event of kind %d", (int)kind);
    return NULL;
}

static inline struct scene *scene_make(const char *junction)
{
    struct scene *scene = calloc(1, sizeof *scene);
    struct sl_cue_voice_choice choice = {.pack = "none"};
    assert_non_null(scene);
    assert_int_equal(temp_folder_make(&scene->folder), 0);
    assert_int_equal(sl_load_junction(junction, &scene->junction, NULL), SL_OK);
    assert_int_equal(sl_load_routine("decide-last", &scene->routine, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &scene->car, NULL), SL_OK);
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
    assert_int_equal(sl_cue_voice_open(&choice, &scene->voice, NULL), SL_OK);
    assert_int_equal(sl_models_path("pronunciations.dict", &scene->pronunciations, NULL), SL_OK);
    scene->rehearsal = (struct sl_rehearsal){.junction = &scene->junction,
                                             .routine = &scene->routine,
                                             .plan = &scene->plan,
                                             .prompting = SL_PROMPTING_FULL,
                                             .voice = scene->voice,
                                             .endpoint = &scene->endpoint,
                                             .recording = scene->recording,
                                             .run = {.junction = sl_strdup(junction)},
                                             .lead_s = SCENE_LEAD_S,
                                             .event = scene_event,
                                             .stop = scene_stop,
                                             .user = scene};
    return scene;
}

/* Length of the announcement. */
static inline double scene_announcement_s(const struct scene *scene)
{
    char *text = sl_announcement(&scene->junction, &scene->plan);
    double length_s = sl_cue_voice_length_s(scene->voice, text);
    free(text);
    return length_s;
}

/* Where the plan's time 0 will lie in what is captured. */
static inline size_t scene_zero(const struct scene *scene)
{
    double played_s = SCENE_LEAD_S + scene_announcement_s(scene);
    return (size_t)lround(played_s * SL_SOUND_RATE_HZ) + scene->simulation.delay_frames;
}

/* The learner's sound from time 0 on, over a faint noise of `noise` (amplitude). */
static inline void scene_hear(struct scene *scene, const char *file, double seconds, double noise)
{
    size_t zero = scene_zero(scene);
    size_t n = zero + (size_t)(seconds * SL_SOUND_RATE_HZ);
    unsigned state = 1;
    scene->signal = calloc(n, sizeof *scene->signal);
    assert_non_null(scene->signal);
    if (file != NULL) {
        char *path = sl_strf("%s/audio/demo/%s.flac", SL_SOURCE_DIR, file);
        struct sl_sound_reader *reader = NULL;
        assert_int_equal(sl_sound_open(path, SL_SOUND_RATE_HZ, &reader, NULL), SL_OK);
        size_t at = zero;
        size_t got = 1;
        while (got > 0) {
            assert_int_equal(sl_sound_read(reader, scene->signal + at, n - at, &got, NULL), SL_OK);
            at += got;
        }
        sl_sound_close(reader);
        free(path);
    }
    for (size_t i = 0; i < n; i++) {
        state = state * 1664525U + 1013904223U;
        scene->signal[i] =
            (int16_t)(scene->signal[i] + lround(noise * ((double)(state >> 8) / 8388608.0 - 1)));
    }
    scene->simulation.signal = scene->signal;
    scene->simulation.n_signal = n;
}

static inline enum sl_status scene_run(struct scene *scene)
{
    char name[32];
    snprintf(name, sizeof name, "run-%u.flac", ++scene->runs);
    temp_folder_name(&scene->folder, name, scene->recording);
    scene->n_seen = 0;
    scene->polls = 0;
    sl_endpoint_close(&scene->endpoint);
    assert_int_equal(sl_endpoint_simulated_open(&scene->simulation, &scene->endpoint, NULL), SL_OK);
    return sl_rehearsal_run(&scene->rehearsal, &scene->result, NULL);
}

static inline void scene_mark(struct scene *scene)
{
    struct sl_recogniser_paths paths = {.pronunciations = scene->pronunciations};
    if (scene->recogniser == NULL) {
        assert_int_equal(sl_recogniser_new(&scene->routine, &paths, NULL, &scene->recogniser, NULL),
                         SL_OK);
    }
    struct sl_marker marker = {.recogniser = scene->recogniser};
    sl_attempt_clear(&scene->attempt);
    assert_int_equal(
        sl_rehearsal_mark(&scene->rehearsal, &scene->result, &marker, &scene->attempt, NULL),
        SL_OK);
}

/* What was recorded, to be freed. */
static inline int16_t *scene_recorded(const struct scene *scene, size_t *n)
{
    struct sl_sound_reader *reader = NULL;
    size_t room = (size_t)(scene->result.length_s * SL_SOUND_RATE_HZ) + 16000;
    int16_t *samples = malloc(room * sizeof *samples);
    size_t got = 1;
    *n = 0;
    assert_non_null(samples);
    assert_int_equal(sl_sound_open(scene->recording, SL_SOUND_RATE_HZ, &reader, NULL), SL_OK);
    while (got > 0 && *n < room) {
        assert_int_equal(sl_sound_read(reader, samples + *n, room - *n, &got, NULL), SL_OK);
        *n += got;
    }
    sl_sound_close(reader);
    return samples;
}

static inline void scene_free(struct scene *scene)
{
    sl_endpoint_close(&scene->endpoint);
    sl_attempt_clear(&scene->attempt);
    sl_run_file_clear(&scene->rehearsal.run);
    sl_recogniser_free(scene->recogniser);
    sl_cue_voice_close(scene->voice);
    sl_junction_clear(&scene->junction);
    sl_routine_clear(&scene->routine);
    sl_car_clear(&scene->car);
    free(scene->pronunciations);
    free(scene->signal);
    temp_folder_remove(&scene->folder);
    free(scene);
}

#endif
