/*
 * A scene for the canceller: a synthetic voice from the speaker, its echo through a synthetic room
 * into the microphone, another voice in front of it.
 */
#ifndef SL_TESTS_ECHO_SCENE_H
#define SL_TESTS_ECHO_SCENE_H

#include "sound/echo.h"
#include "sound/endpoint_simulated.h"
#include "sound/speak.h"

#include "support/random.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SCENE_RATE SL_SOUND_RATE_HZ
#define SCENE_ROOM 800 /* frames of the room's response: 50 ms */

#define SCENE_CUE                                                                                  \
    "Approaching a crossroads. You are turning right. The view is open on both sides. "            \
    "The limit is thirty miles an hour. One hundred and fifty metres to the line. "
#define SCENE_SAY                                                                                  \
    "Interior mirror, right door mirror. Signal right. Ten miles per hour. "                       \
    "Second gear, clutch up. It is clear, going. "

/* A voice that says its text over and over for `n` frames, at 3000 rms while it speaks. */
static inline int16_t *scene_voice(const char *voice, const char *text, size_t n)
{
    struct sl_spoken spoken = {0};
    assert_int_equal(sl_speak(voice, text, NULL, &spoken, NULL), SL_OK);
    assert_int_equal(spoken.rate_hz, SCENE_RATE);
    size_t n_spoken = spoken.n_samples;
    double sum = 0;
    for (size_t i = 0; i < n_spoken; i++) {
        sum += (double)spoken.samples[i] * spoken.samples[i];
    }
    double scale = 3000 / sqrt(sum / (double)n_spoken);
    int16_t *said = calloc(n, sizeof *said);
    assert_non_null(said);
    for (size_t i = 0; i < n; i++) {
        said[i] = (int16_t)fmin(fmax(spoken.samples[i % n_spoken] * scale, -32768), 32767);
    }
    free(spoken.samples);
    return said;
}

/* A room: the straight way, then reflections that fade by 60 dB in 0.3 s; its gain is 1. */
static inline void scene_room(double *room)
{
    uint64_t random = 11;
    double energy = 1;
    room[0] = 1;
    for (size_t i = 1; i < SCENE_ROOM; i++) {
        double fade = pow(10, -3 * (double)i / (0.3 * SCENE_RATE));
        room[i] = i < 20 ? 0 : 0.08 * fade * (2 * random_share(&random) - 1) * sqrt(3);
        energy += room[i] * room[i];
    }
    for (size_t i = 0; i < SCENE_ROOM; i++) {
        room[i] /= sqrt(energy);
    }
}

#define SCENE_LENGTH ((size_t)16 * SCENE_RATE)

/* Who speaks in the scenes of a test program, and where. */
struct scene_voices {
    int16_t *cue, *learner; /* SCENE_LENGTH frames */
    double room[SCENE_ROOM];
};

/* For cmocka's group of tests. */
static inline int scene_voices_make(void **state)
{
    static struct scene_voices voices;
    voices.cue = scene_voice("awb", SCENE_CUE, SCENE_LENGTH);
    voices.learner = scene_voice("slt", SCENE_SAY, SCENE_LENGTH);
    scene_room(voices.room);
    *state = &voices;
    return 0;
}

static inline int scene_voices_free(void **state)
{
    struct scene_voices *voices = *state;
    free(voices->cue);
    free(voices->learner);
    return 0;
}

/* What a scene gives: the microphone's sound and what the canceller makes of it. */
struct scene {
    int16_t *mic, *out;
    size_t n;
    double erle_db[60];               /* at the end of each second */
    enum sl_echo_verdict verdict[60]; /* at the end of each second */
    double copied_s;                  /* when it was first taken for a copy; 0: never */
    size_t n_loud_muted;              /* frames not exactly zero in blocks said to be muted */
    struct sl_echo_report report;     /* at the end */
};

struct scene_plan {
    struct sl_simulation simulation;
    const int16_t *played;
    size_t n;
    double offset_s;  /* told to the canceller */
    double noise_rms; /* of the microphone's own hiss */
};

static inline void scene_free(struct scene *scene)
{
    free(scene->mic);
    free(scene->out);
}

static inline struct scene scene_run(const struct scene_plan *plan)
{
    struct scene scene = {.n = plan->n - plan->n % SL_ECHO_BLOCK};
    scene.mic = calloc(plan->n, sizeof *scene.mic);
    scene.out = calloc(plan->n, sizeof *scene.out);
    struct sl_endpoint endpoint = {0};
    struct sl_echo *echo = NULL;
    uint64_t random = 17;
    assert_int_equal(sl_endpoint_simulated_open(&plan->simulation, &endpoint, NULL), SL_OK);
    assert_int_equal(sl_echo_new(plan->offset_s, &echo, NULL), SL_OK);
    assert_int_equal(sl_endpoint_start(&endpoint, NULL), SL_OK);
    for (size_t at = 0; at < scene.n; at += SL_ECHO_BLOCK) {
        int16_t *mic = scene.mic + at;
        assert_int_equal(sl_endpoint_write(&endpoint, plan->played + at, SL_ECHO_BLOCK),
                         SL_ECHO_BLOCK);
        assert_int_equal(sl_endpoint_wait(&endpoint, SL_ECHO_BLOCK, 1), SL_ECHO_BLOCK);
        assert_int_equal(sl_endpoint_read(&endpoint, mic, SL_ECHO_BLOCK), SL_ECHO_BLOCK);
        for (size_t i = 0; i < SL_ECHO_BLOCK; i++) {
            double hiss = (2 * random_share(&random) - 1) * sqrt(3) * plan->noise_rms;
            mic[i] = (int16_t)lrint(fmin(fmax(mic[i] + hiss, -32768), 32767));
        }
        sl_echo_process(echo, mic, plan->played + at, scene.out + at);
        scene.report = sl_echo_report(echo);
        if (scene.report.copied && scene.copied_s == 0) {
            scene.copied_s = (double)(at + SL_ECHO_BLOCK) / SCENE_RATE;
        }
        for (size_t i = 0; i < SL_ECHO_BLOCK && scene.report.muted; i++) {
            scene.n_loud_muted += scene.out[at + i] != 0;
        }
        size_t second = at / SCENE_RATE;
        if (second < 60) {
            scene.erle_db[second] = scene.report.erle_db;
            scene.verdict[second] = scene.report.verdict;
        }
    }
    sl_echo_free(echo);
    sl_endpoint_close(&endpoint);
    return scene;
}

/* Mean power of `n` frames. */
static inline double scene_power(const int16_t *frames, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        sum += (double)frames[i] * frames[i];
    }
    return sum / (double)n;
}

#endif
