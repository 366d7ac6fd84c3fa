#include "demo.h"

#include "recording.h"
#include "scene.h"
#include "steps.h"
#include "take.h"

#include "core/str.h"
#include "files/models.h"

#include <stdint.h>
#include <stdlib.h>

#define DRAWS_MOST 200
#define EVERY_PHASE "*"

struct demo {
    const char *name, *junction;
    struct corpus_voice voice;
    double snr_db;
    double off_topic_chance;
    const char *phase; /* of the fault */
    uint64_t start;    /* of the random numbers, chosen so that it sounds natural */
    enum corpus_noise noise;
    int fault; /* -1: none */
    bool timed;
};

/* Short names for the table. */
#define AS_IT_IS(base)                                                                             \
    {                                                                                              \
        base, 1, 1, 1                                                                              \
    }
#define FAULT(what, where) .fault = (what), .phase = (where)
#define RIGHT .fault = -1
#define TIMED .timed = true
#define NOISE(what, db) .noise = (what), .snr_db = (db)
#define TALK .off_topic_chance = 1

static const struct demo demos[] = {
    {"clean-t-left-open", "t-left-open", AS_IT_IS("slt"), RIGHT, TIMED, .start = 6},
    {"clean-t-right-closed", "t-right-closed", AS_IT_IS("rms"), RIGHT, TIMED, .start = 9},
    {"missed-signal", "t-left-closed", AS_IT_IS("awb"), FAULT(SL_FAULT_MISSED, "signal"), TIMED,
     .start = 7},
    {"gear-before-speed", "t-right-open", AS_IT_IS("kal16"), FAULT(SL_FAULT_OUT_OF_ORDER, "gear"),
     TIMED, .start = 7},
    {"decide-before-gear",
     "roundabout-left-open",
     {"slt", 1.1, 1.1, 1.05},
     FAULT(SL_FAULT_OUT_OF_ORDER, "decide"),
     TIMED,
     .start = 10},
    {"wrong-mirror",
     "t-left-open",
     {"rms", 0.95, 1.05, 0.97},
     FAULT(SL_FAULT_WRONG_SETTING, "mirrors"),
     .start = 8},
    {"wrong-gear", "t-left-closed", AS_IT_IS("slt"), FAULT(SL_FAULT_WRONG_SETTING, "gear"),
     .start = 6},
    {"early-signal",
     "major-right-open",
     {"awb", 1.08, 1.05, 1.0},
     FAULT(SL_FAULT_EARLY, "signal"),
     TIMED,
     .start = 9},
    {"late-gear", "t-left-open", AS_IT_IS("kal16"), FAULT(SL_FAULT_LATE, "gear"), TIMED,
     .start = 3},
    {"mirrors-twice",
     "mini-right-open",
     {"slt", 0.92, 0.95, 0.95},
     FAULT(SL_FAULT_EXTRA, "mirrors"),
     .start = 5},
    {"unclear-signal", "t-right-open", AS_IT_IS("rms"), FAULT(SL_FAULT_UNCLEAR, "signal"),
     .start = 8},
    {"corrected-gear",
     "crossroads-left-open",
     {"slt", 1.05, 0.95, 1.0},
     FAULT(CORPUS_CORRECTED, "gear"),
     .start = 12},
    {"car-noise-20-db", "t-left-open", AS_IT_IS("slt"), RIGHT, NOISE(CORPUS_NOISE_CAR, 20), TIMED,
     .start = 3},
    {"fan-noise-10-db", "t-right-closed", AS_IT_IS("rms"), RIGHT, NOISE(CORPUS_NOISE_FAN, 10),
     .start = 10},
    {"off-topic-talk", "t-right-open", AS_IT_IS("awb"), RIGHT, TALK, .start = 14},
    {"nothing-but-talk", "t-left-open", AS_IT_IS("kal16"), FAULT(SL_FAULT_MISSED, EVERY_PHASE),
     TALK, .start = 5},
};

#define N_DEMOS (sizeof demos / sizeof demos[0])

static bool add_faults(struct corpus_rng *rng, const struct corpus_scene *scene,
                       const struct demo *demo, struct corpus_steps *steps)
{
    if (demo->fault < 0) {
        return true;
    }
    bool every = demo->phase[0] == EVERY_PHASE[0];
    for (size_t phase = 0; phase < scene->routine->n_phases; phase++) {
        bool meant = every || phase == sl_routine_phase(scene->routine, demo->phase);
        if (meant && !corpus_steps_fault(rng, scene, demo->fault, phase, steps)) {
            return false;
        }
    }
    return true;
}

static enum sl_status draw(struct corpus_rng *rng, const struct corpus_scene *scene,
                           const struct demo *demo, struct corpus_take *take,
                           struct sl_error *error)
{
    struct corpus_manner manner = {.voice = demo->voice,
                                   .speakers = {.split = CORPUS_JUDGE},
                                   .noise = demo->noise,
                                   .snr_db = demo->snr_db,
                                   .from_start = true,
                                   .own_words = true,
                                   .filler_chance = 0.15,
                                   .off_topic_chance = demo->off_topic_chance};
    struct sl_error last = {0};
    enum sl_status status = SL_INVALID;
    for (int i = 0; i < DRAWS_MOST && status == SL_INVALID; i++) {
        struct corpus_steps steps;
        corpus_steps_right(rng, scene, demo->timed, &steps);
        if (add_faults(rng, scene, demo, &steps)) {
            struct corpus_run run = {scene, &steps, &manner};
            status = corpus_take_make(rng, &run, take, &last);
        }
    }
    if (status != SL_OK) {
        sl_fail(error, status, demo->name, NULL, "the recording cannot be made: %s",
                last.what == NULL ? "the fault has no place" : last.what);
    }
    sl_error_clear(&last);
    return status;
}

static enum sl_status make(size_t number, const struct sl_routine *routine, const char *folder,
                           struct sl_error *error)
{
    const struct demo *demo = &demos[number];
    struct corpus_rng rng;
    corpus_rng_init(&rng, demo->start);
    struct corpus_scene scene = {0};
    struct corpus_take take = {0};
    enum sl_status status = corpus_scene_load(demo->junction, routine, &scene, error);
    if (status == SL_OK) {
        status = draw(&rng, &scene, demo, &take, error);
    }
    if (status == SL_OK) {
        status = corpus_recording_write(&take, folder, demo->name, error);
    }
    corpus_take_clear(&take);
    corpus_scene_clear(&scene);
    return status;
}

enum sl_status corpus_demo_make(const char *folder, struct sl_error *error)
{
    struct sl_routine routine = {0};
    enum sl_status status = sl_load_routine("decide-last", &routine, error);
    for (size_t i = 0; i < N_DEMOS && status == SL_OK; i++) {
        status = make(i, &routine, folder, error);
    }
    sl_routine_clear(&routine);
    return status;
}

const char **corpus_demo_names(void)
{
    const char **names = calloc(N_DEMOS + 1, sizeof *names);
    for (size_t i = 0; names != NULL && i < N_DEMOS; i++) {
        names[i] = demos[i].name;
    }
    return names;
}
