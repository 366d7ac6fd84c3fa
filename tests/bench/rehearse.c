#include "bench/rehearse.h"

#include "core/str.h"
#include "files/models.h"
#include "files/result_json.h"
#include "practice/cue_voice.h"
#include "sound/clock.h"
#include "sound/endpoint_simulated.h"
#include "sound/sound_reader.h"
#include "support/random.h"

#include <math.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#define RATE ((double)SL_SOUND_RATE_HZ)
#define LEAD_S 1.0
#define TAIL_S 20.0
#define CAR "small-petrol"
#define QUIET_EDGE_S 0.1
#define HISS 4.0        /* amplitude of the quietest room, where a recording has none */
#define ROOM_FRAMES 800 /* 50 ms */
#define ROOM_FADE_S 0.3 /* by 60 dB */
#define HAND_OVER_S 0.0003

enum sl_status bench_rehearse_start(struct bench_rehearse *bench, struct sl_error *error)
{
    *bench = (struct bench_rehearse){0};
    struct sl_cue_voice_choice choice = {0};
    enum sl_status status = sl_load_routine("decide-last", &bench->routine, error);
    if (status == SL_OK) {
        status = sl_load_car(CAR, &bench->car, error);
    }
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &bench->pronunciations, error);
    }
    struct sl_recogniser_paths paths = {.pronunciations = bench->pronunciations};
    if (status == SL_OK) {
        status = sl_recogniser_new(&bench->routine, &paths, NULL, &bench->recogniser, error);
    }
    if (status == SL_OK) {
        status = sl_cue_voice_open(&choice, &bench->voice, error);
    }
    if (status == SL_OK && temp_folder_make(&bench->folder) != 0) {
        status = sl_fail(error, SL_IO, NULL, NULL, "no folder for the recordings");
    }
    return status;
}

void bench_runs_clear(struct bench_runs *runs)
{
    bench_tally_clear(&runs->mark);
    bench_tally_clear(&runs->live);
    bench_delays_clear(&runs->delays);
    *runs = (struct bench_runs){0};
}

void bench_rehearse_clear(struct bench_rehearse *bench)
{
    if (bench->folder.path[0] != '\0') {
        temp_folder_remove(&bench->folder);
    }
    sl_cue_voice_close(bench->voice);
    sl_recogniser_free(bench->recogniser);
    free(bench->pronunciations);
    sl_car_clear(&bench->car);
    sl_routine_clear(&bench->routine);
    *bench = (struct bench_rehearse){0};
}

/* One run on its way. */
struct scene {
    struct bench_rehearse *bench;
    const struct bench_condition *condition;
    struct corpus_labels labels;
    struct sl_junction junction;
    struct sl_plan plan;
    int16_t *signal; /* what the microphone hears of the learner */
    size_t n_signal;
    double room[ROOM_FRAMES];
    double shift_s; /* from the labels' clock to the recording's */
    struct sl_listener *listener;
    struct bench_given given; /* on the recording's clock until the run is over */
    _Atomic(size_t) n_fed;
    struct sl_endpoint endpoint;
    struct sl_live_car *car; /* driven */
    struct sl_task task;
    struct sl_situation nobody;
    struct sl_rehearsal_drive driven;
    size_t n_sounding; /* phrases that what is played follows */
};

static void scene_clear(struct scene *scene)
{
    corpus_labels_clear(&scene->labels);
    sl_junction_clear(&scene->junction);
    sl_listener_free(scene->listener);
    bench_given_clear(&scene->given);
    sl_endpoint_close(&scene->endpoint);
    sl_live_car_free(scene->car);
    free(scene->signal);
}

/* A made-up room: the straight way, then reflections that fade; its gain is 1. */
static void make_room(double *room)
{
    uint64_t random = 11;
    double energy = 1;
    room[0] = 1;
    for (size_t i = 1; i < ROOM_FRAMES; i++) {
        double fade = pow(10, -3 * (double)i / (ROOM_FADE_S * RATE));
        room[i] = i < 20 ? 0 : 0.14 * fade * (2 * random_share(&random) - 1);
        energy += room[i] * room[i];
    }
    for (size_t i = 0; i < ROOM_FRAMES; i++) {
        room[i] /= sqrt(energy);
    }
}

static enum sl_status load(struct scene *scene, const char *label_file, struct sl_error *error)
{
    struct bench_rehearse *bench = scene->bench;
    enum sl_status status = corpus_labels_read(label_file, &scene->labels, error);
    if (status == SL_OK) {
        status = sl_load_junction(scene->labels.junction, &scene->junction, error);
    }
    if (status == SL_OK) {
        status = sl_plan_make(&scene->junction, &bench->routine, &bench->car, &scene->plan, error);
    }
    return status;
}

/* The recording's room before and after it (and in place of it, when the learner is silent): a
 * microphone hears its noise from the start. What stands before the first word is laid out to and
 * fro. */
static void fill_room(struct scene *scene, size_t at, size_t n_read)
{
    const struct corpus_labels *labels = &scene->labels;
    double quiet_s = labels->n_said > 0 ? labels->said[0].start_s - QUIET_EDGE_S : 0;
    size_t quiet = quiet_s > QUIET_EDGE_S ? (size_t)(quiet_s * RATE) : 0;
    if (quiet == 0 || quiet > n_read) {
        if (scene->condition->silent) {
            memset(scene->signal, 0, scene->n_signal * sizeof *scene->signal);
        }
        return;
    }
    for (size_t i = 0; i < scene->n_signal; i++) {
        size_t off = (i < at ? at - i : i - at) % (2 * quiet);
        bool outside = i < at || i >= at + n_read || (scene->condition->silent && i >= at + quiet);
        if (outside) {
            scene->signal[i] = scene->signal[at + (off < quiet ? off : 2 * quiet - 1 - off)];
        }
    }
}

/* Puts the recording where its announcement ends with the one that is played. */
static enum sl_status place(struct scene *scene, const char *label_file, struct sl_error *error)
{
    char *text = sl_announcement(&scene->junction, &scene->plan);
    double announcement_s = text == NULL ? 0 : sl_cue_voice_length_s(scene->bench->voice, text);
    free(text);
    double zero_s = LEAD_S + announcement_s + scene->condition->delay_s;
    scene->shift_s = fmax(zero_s - scene->labels.from_s, 0);
    scene->n_signal = (size_t)((scene->shift_s + scene->labels.duration_s + TAIL_S) * RATE);
    scene->signal = calloc(scene->n_signal, sizeof *scene->signal);
    const char *slash = strrchr(label_file, '/');
    int length = slash != NULL ? (int)(slash - label_file + 1) : 0;
    char *sound = sl_strf("%.*s%s", length, label_file, scene->labels.file);
    if (scene->signal == NULL || sound == NULL) {
        free(sound);
        return sl_fail_memory(error);
    }
    struct sl_sound_reader *reader = NULL;
    enum sl_status status = sl_sound_open(sound, SL_SOUND_RATE_HZ, &reader, error);
    size_t first = (size_t)lround(scene->shift_s * RATE);
    size_t at = first;
    for (size_t n = 1; status == SL_OK && n > 0; at += n) {
        status = sl_sound_read(reader, scene->signal + at, scene->n_signal - at, &n, error);
    }
    fill_room(scene, first, at - first);
    sl_sound_close(reader);
    free(sound);
    uint64_t random = 5;
    for (size_t i = 0; i < scene->n_signal; i++) {
        double sum = scene->signal[i] + HISS * (2 * random_share(&random) - 1);
        scene->signal[i] = (int16_t)lrint(fmin(fmax(sum, INT16_MIN), INT16_MAX));
    }
    return status;
}

static enum sl_status ear_feed(void *self, const int16_t *samples, size_t n,
                               struct sl_heard_list *heard, struct sl_error *error)
{
    struct scene *scene = self;
    struct sl_heard_list *ours = &scene->given.heard;
    size_t first = ours->count;
    enum sl_status status = sl_listener_feed(scene->listener, samples, n, ours, error);
    size_t n_fed = atomic_load(&scene->n_fed) + n;
    if (status == SL_OK &&
        !bench_given_stamp(&scene->given, first, (double)n_fed / RATE - scene->shift_s)) {
        status = sl_fail_memory(error);
    }
    for (size_t i = first; status == SL_OK && i < ours->count; i++) {
        status = sl_heard_add(heard, &ours->items[i], error);
    }
    atomic_store(&scene->n_fed, n_fed);
    return status;
}

static enum sl_status ear_finish(void *self, struct sl_heard_list *heard, struct sl_error *error)
{
    struct scene *scene = self;
    size_t first = scene->given.heard.count;
    enum sl_status status = sl_listener_finish(scene->listener, &scene->given.heard, error);
    bool stamped =
        bench_given_stamp(&scene->given, first, (double)scene->n_fed / RATE - scene->shift_s);
    (void)heard;
    return status == SL_OK && !stamped ? sl_fail_memory(error) : status;
}

/* From the recording's clock to the labels'. */
static void shift_back(struct sl_heard_list *heard, double shift_s)
{
    for (size_t i = 0; i < heard->count; i++) {
        heard->items[i].start_s -= shift_s;
        heard->items[i].end_s -= shift_s;
    }
}

/* Whether the program marks the recording as it was marked after the run. */
static enum sl_status mark_again(const struct scene *scene, const struct sl_rehearsal *rehearsal,
                                 const struct sl_rehearsal_result *result,
                                 const struct sl_attempt *attempt, bool *same)
{
    struct sl_result live = {.file = rehearsal->recording,
                             .routine = &scene->bench->routine,
                             .junction = &scene->junction,
                             .plan = &scene->plan,
                             .levels = &attempt->levels,
                             .heard = &attempt->heard,
                             .mark = &attempt->mark,
                             .from_s = result->from_s};
    char *json = NULL;
    enum sl_status status = sl_result_to_json(&live, &json, NULL);
    char *command = sl_strf("'%s' mark --json '%s'", scene->bench->program, rehearsal->recording);
    bool ready = status == SL_OK && command != NULL;
    FILE *output = ready ? popen(command, "r") : NULL; /* NOLINT(cert-env33-c): a bench's own */
    if (output == NULL) {
        status = SL_IO;
    } else {
        char *line = NULL;
        size_t room = 0;
        ssize_t n = getline(&line, &room, output);
        *same = n > 0 && strncmp(line, json, strlen(json)) == 0 && line[strlen(json)] == '\n';
        if (!*same && scene->bench->list != NULL) {
            (void)fprintf(scene->bench->list, "live:  %s\nagain: %s", json, n > 0 ? line : "-\n");
        }
        free(line);
        *same = pclose(output) == 0 && *same;
    }
    free(command);
    free(json);
    return status;
}

/* Counts what was heard live and in the recording. */
static enum sl_status score(struct scene *scene, struct sl_attempt *attempt,
                            struct bench_runs *runs, struct sl_error *error)
{
    struct bench_rehearse *bench = scene->bench;
    struct sl_heard_list last = {0};
    if (scene->condition->silent) {
        for (size_t i = 0; i < scene->labels.n_said; i++) {
            free(scene->labels.said[i].what);
            free(scene->labels.said[i].text);
        }
        scene->labels.n_said = 0;
    }
    shift_back(&attempt->heard, scene->shift_s);
    shift_back(&scene->given.heard, scene->shift_s);
    enum sl_status status =
        bench_score(&bench->routine, &scene->labels, &attempt->heard, &runs->mark, error);
    if (status == SL_OK) {
        status =
            bench_delays_add(&runs->delays, &bench->routine, &scene->labels, &scene->given, &last);
    }
    if (status == SL_OK) {
        status = bench_score(&bench->routine, &scene->labels, &last, &runs->live, error);
    }
    sl_heard_clear(&last);
    return status;
}

/* The sound's thread, a hundred times a second of simulated time: waits until the ear has heard all
 * and the car is driven. So much sound was made ahead already; the frame after it is the first that
 * follows what came out (practice.rehearsal_driven looks for it in the sound itself). */
static bool wait_for_ear(void *user)
{
    struct scene *scene = user;
    size_t captured = (size_t)sl_endpoint_facts(&scene->endpoint).captured;
    while (atomic_load(&scene->n_fed) < captured) {
        sl_clock_sleep_s(HAND_OVER_S);
    }
    sl_clock_sleep_s(HAND_OVER_S);
    double at_s = (double)captured / RATE + SL_REHEARSAL_CAR_AHEAD_S - scene->shift_s;
    (void)bench_given_stamp(&scene->given, scene->n_sounding, at_s); /* it is as long as before */
    scene->n_sounding = scene->given.heard.count;
    return false;
}

/* Lets the words drive a car. */
static enum sl_status take_car(struct scene *scene, struct sl_rehearsal *rehearsal,
                               struct sl_error *error)
{
    scene->task = (struct sl_task){
        .routine = &scene->bench->routine, .junction = &scene->junction, .plan = &scene->plan};
    enum sl_status status = sl_live_car_new(&scene->task, &scene->bench->car, &scene->car, error);
    scene->driven = (struct sl_rehearsal_drive){scene->car, &scene->nobody, &scene->junction};
    rehearsal->driven = &scene->driven;
    rehearsal->stop = wait_for_ear;
    rehearsal->user = scene;
    return status;
}

static enum sl_status rehearse(struct scene *scene, struct bench_runs *runs, struct sl_error *error)
{
    struct bench_rehearse *bench = scene->bench;
    char recording[TEMP_PATH_MAX];
    struct sl_live_ear ear = {ear_feed, ear_finish, scene};
    struct sl_rehearsal rehearsal = {.junction = &scene->junction,
                                     .routine = &bench->routine,
                                     .plan = &scene->plan,
                                     .prompting = scene->condition->prompting,
                                     .voice = bench->voice,
                                     .endpoint = &scene->endpoint,
                                     .recording = recording,
                                     .run = {.junction = sl_strdup(scene->labels.junction)},
                                     .lead_s = LEAD_S,
                                     .echo = true,
                                     .ear = scene->condition->deaf ? NULL : &ear};
    struct sl_rehearsal_result result = {0};
    struct sl_attempt attempt = {0};
    struct sl_marker marker = {.recogniser = bench->recogniser};
    bool same = true;
    (void)snprintf(recording, sizeof recording, "%.60s/%.180s",
                   bench->keep != NULL ? bench->keep : bench->folder.path, scene->labels.file);
    enum sl_status status = scene->condition->driven ? take_car(scene, &rehearsal, error) : SL_OK;
    if (status == SL_OK) {
        status = sl_rehearsal_run(&rehearsal, &result, error);
    }
    if (status == SL_OK) {
        status = sl_rehearsal_mark(&rehearsal, &result, &marker, &attempt, error);
    }
    if (status == SL_OK && bench->program != NULL) {
        status = mark_again(scene, &rehearsal, &result, &attempt, &same);
    }
    if (status == SL_OK) {
        runs->half_duplex += result.half_duplex;
        runs->differing += !same;
        status = score(scene, &attempt, runs, error);
    }
    (void)temp_folder_count(&bench->folder, 1);
    sl_attempt_clear(&attempt);
    sl_run_file_clear(&rehearsal.run);
    return status;
}

enum sl_status bench_rehearse_run(struct bench_rehearse *bench, const char *label_file,
                                  const struct bench_condition *condition, struct bench_runs *runs,
                                  struct sl_error *error)
{
    struct scene scene = {.bench = bench, .condition = condition};
    struct sl_recogniser_paths paths = {.pronunciations = bench->pronunciations};
    struct sl_listener_setup ear = {.paths = &paths};
    enum sl_status status = load(&scene, label_file, error);
    if (status == SL_OK) {
        status = place(&scene, label_file, error);
    }
    if (status == SL_OK && !condition->deaf) {
        status = sl_listener_new(&bench->routine, &ear, &scene.listener, error);
    }
    if (status == SL_OK) {
        make_room(scene.room);
        struct sl_simulation simulation = {.signal = scene.signal,
                                           .n_signal = scene.n_signal,
                                           .leak = condition->leak,
                                           .delay_frames = (size_t)(condition->delay_s * RATE),
                                           .room = scene.room,
                                           .n_room = ROOM_FRAMES};
        status = sl_endpoint_simulated_open(&simulation, &scene.endpoint, error);
    }
    if (status == SL_OK) {
        runs->delays.list = runs->mark.list = bench->list;
        status = rehearse(&scene, runs, error);
    }
    scene_clear(&scene);
    return status;
}
