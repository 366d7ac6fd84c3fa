#include "runs.h"

#include "recording.h"
#include "scene.h"
#include "steps.h"
#include "take.h"

#include "core/str.h"
#include "files/models.h"

#include <stdio.h>
#include <stdlib.h>

#define DRAWS_MOST 200

/* What all runs share. */
struct making {
    const struct corpus_order *order;
    struct sl_routine routine;
    char **junctions;
    size_t n_junctions;
};

static struct corpus_manner draw_manner(struct corpus_rng *rng, const struct corpus_order *order)
{
    struct corpus_manner manner = {.voice = corpus_voice_draw(rng, order->split),
                                   .split = order->split,
                                   .noise = order->noise,
                                   .snr_db = order->snr_db,
                                   .echo = corpus_rng_chance(rng, 0.3),
                                   .filler_chance = 0.12,
                                   .off_topic_chance = order->off_topic_chance,
                                   .book_share = order->book_share};
    if (order->any_noise) {
        manner.noise = corpus_rng_chance(rng, 0.5) ? CORPUS_NOISE_CAR : CORPUS_NOISE_FAN;
    }
    return manner;
}

/* Draws until what is said has room in the plan. */
static enum sl_status draw_take(struct corpus_rng *rng, const struct corpus_order *order,
                                const struct corpus_scene *scene, struct corpus_take *take,
                                struct sl_error *error)
{
    static const size_t faults[] = {0, 0, 0, 1, 1, 1, 1, 2, 2, 2};
    struct corpus_manner manner = draw_manner(rng, order);
    size_t most = faults[corpus_rng_below(rng, sizeof faults / sizeof faults[0])];
    if (most > order->most_faults) {
        most = order->most_faults;
    }
    enum sl_status status = SL_INVALID;
    struct sl_error last = {0};
    for (int draw = 0; draw < DRAWS_MOST && (status == SL_INVALID || status == SL_NOT_FOUND);
         draw++) {
        struct corpus_steps steps;
        corpus_steps_right(rng, scene, order->timed, &steps);
        corpus_steps_draw(rng, scene, most, &steps);
        struct corpus_run run = {scene, &steps, &manner};
        status = corpus_take_make(rng, &run, take, &last);
    }
    if (status != SL_OK) {
        sl_fail(error, status, scene->junction.name, last.mend, "no run can be made: %s",
                last.what == NULL ? "memory ran out" : last.what);
    }
    sl_error_clear(&last);
    return status;
}

static void list_run(FILE *manifest, const struct corpus_labels *labels)
{
    fprintf(manifest, "%s\t%s\t%s\t%s\t%s\t%.3f\t%.3f\t", labels->file, labels->junction,
            labels->voice, labels->noise, labels->timed ? "yes" : "no", labels->from_s,
            labels->duration_s);
    for (size_t i = 0; i < labels->n_truths; i++) {
        fprintf(manifest, "%s%s:%s", i == 0 ? "" : ",", labels->truths[i].kind,
                labels->truths[i].phase);
    }
    fprintf(manifest, "%s\n", labels->n_truths == 0 ? "-" : "");
}

static enum sl_status make_run(const struct making *making, size_t number, FILE *manifest,
                               struct sl_error *error)
{
    const struct corpus_order *order = making->order;
    /* A run depends on its number only, not on the runs before it. */
    struct corpus_rng rng;
    corpus_rng_init(&rng, order->start * UINT64_C(1000003) + number);
    const char *junction = making->junctions[corpus_rng_below(&rng, making->n_junctions)];
    struct corpus_scene scene = {0};
    struct corpus_take take = {0};
    enum sl_status status = corpus_scene_load(junction, &making->routine, &scene, error);
    if (status == SL_OK) {
        status = draw_take(&rng, order, &scene, &take, error);
    }
    char *name = sl_strf("run-%04zu", number);
    if (status == SL_OK) {
        status = name == NULL ? sl_fail_memory(error)
                              : corpus_recording_write(&take, order->folder, name, error);
    }
    if (status == SL_OK) {
        list_run(manifest, &take.labels);
    }
    free(name);
    corpus_take_clear(&take);
    corpus_scene_clear(&scene);
    return status;
}

static enum sl_status make_runs(const struct making *making, const char *path,
                                struct sl_error *error)
{
    FILE *manifest = fopen(path, "w");
    if (manifest == NULL) {
        return sl_fail(error, SL_IO, path, "make the folder first",
                       "the list of runs cannot be written");
    }
    fprintf(manifest, "file\tjunction\tvoice\tnoise\ttimed\tfrom_s\tduration_s\tfaults\n");
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < making->order->count && status == SL_OK; i++) {
        status = make_run(making, i, manifest, error);
    }
    if (fclose(manifest) != 0 && status == SL_OK) {
        status = sl_fail(error, SL_IO, path, NULL, "the list of runs cannot be written");
    }
    return status;
}

enum sl_status corpus_runs_make(const struct corpus_order *order, struct sl_error *error)
{
    struct making making = {.order = order};
    char *path = sl_strf("%s/runs.tsv", order->folder);
    enum sl_status status = path == NULL ? sl_fail_memory(error) : SL_OK;
    if (status == SL_OK) {
        status = sl_load_routine(order->routine, &making.routine, error);
    }
    if (status == SL_OK) {
        status = sl_models_list("junctions", &making.junctions, &making.n_junctions, error);
    }
    if (status == SL_OK) {
        status = make_runs(&making, path, error);
    }
    for (size_t i = 0; i < making.n_junctions; i++) {
        free(making.junctions[i]);
    }
    free(making.junctions);
    sl_routine_clear(&making.routine);
    free(path);
    return status;
}
