#include "runs.h"

#include "recording.h"
#include "scene.h"
#include "steps.h"
#include "take.h"

#include "core/str.h"

#include <stdio.h>
#include <stdlib.h>

#define DRAWS_MOST 200

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
    for (int draw = 0; draw < DRAWS_MOST && status == SL_INVALID; draw++) {
        struct corpus_steps steps;
        corpus_steps_right(rng, scene, order->timed, &steps);
        corpus_steps_draw(rng, scene, most, &steps);
        status = corpus_take_make(rng, scene, &steps, &manner, take, error);
    }
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

static enum sl_status make_run(struct corpus_rng *rng, const struct corpus_order *order,
                               size_t number, FILE *manifest, struct sl_error *error)
{
    static const char *const junctions[] = {"t-left-open", "t-left-closed", "t-right-open",
                                            "t-right-closed"};
    const char *junction = junctions[corpus_rng_below(rng, 4)];
    struct corpus_scene scene = {0};
    struct corpus_take take = {0};
    enum sl_status status = corpus_scene_load(junction, order->routine, &scene, error);
    if (status == SL_OK) {
        status = draw_take(rng, order, &scene, &take, error);
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

enum sl_status corpus_runs_make(const struct corpus_order *order, struct sl_error *error)
{
    char *path = sl_strf("%s/runs.tsv", order->folder);
    FILE *manifest = path == NULL ? NULL : fopen(path, "w");
    if (manifest == NULL) {
        enum sl_status status = sl_fail(error, SL_IO, path, "make the folder first",
                                        "the list of runs cannot be written");
        free(path);
        return status;
    }
    fprintf(manifest, "file\tjunction\tvoice\tnoise\ttimed\tfrom_s\tduration_s\tfaults\n");
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < order->count && status == SL_OK; i++) {
        /* A run depends on its number only, not on the runs before it. */
        struct corpus_rng rng;
        corpus_rng_init(&rng, order->start * UINT64_C(1000003) + i);
        status = make_run(&rng, order, i, manifest, error);
    }
    if (fclose(manifest) != 0 && status == SL_OK) {
        status = sl_fail(error, SL_IO, path, NULL, "the list of runs cannot be written");
    }
    free(path);
    return status;
}
