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

/* `chosen`, or one of `least` to `most` where any will do. */
static int draw_any(struct corpus_rng *rng, int chosen, int least, int most)
{
    size_t kinds = (size_t)most - (size_t)least + 1;
    return chosen == CORPUS_ANY ? least + (int)corpus_rng_below(rng, kinds) : chosen;
}

static enum corpus_room draw_room(struct corpus_rng *rng, int chosen)
{
    if (chosen == CORPUS_ROOM_USUAL) {
        return corpus_rng_chance(rng, 0.3) ? CORPUS_ROOM_NEAR : CORPUS_ROOM_DRY;
    }
    return (enum corpus_room)draw_any(rng, chosen, CORPUS_ROOM_DRY, CORPUS_ROOM_LIVING);
}

static struct corpus_manner draw_manner(struct corpus_rng *rng, const struct corpus_order *order)
{
    struct corpus_manner manner = {.speakers = order->speakers,
                                   .snr_db = order->snr_db,
                                   .filler_chance = 0.12,
                                   .off_topic_chance = order->off_topic_chance,
                                   .hesitation_chance = order->hesitation_chance,
                                   .restart_chance = order->restart_chance,
                                   .outside_share = order->outside_share,
                                   .book_share = order->book_share};
    manner.voice = corpus_voice_draw(rng, &order->speakers);
    if (order->voice.base != NULL) {
        manner.voice = order->voice; /* what was drawn is thrown away, so that all else is alike */
    }
    manner.room = draw_room(rng, order->room);
    manner.noise =
        (enum corpus_noise)draw_any(rng, order->noise, CORPUS_NOISE_CAR, CORPUS_NOISE_BABBLE);
    manner.microphone = (enum corpus_microphone)draw_any(
        rng, order->microphone, CORPUS_MICROPHONE_FLAT, CORPUS_MICROPHONE_PHONE);
    return manner;
}

/* A run as it is made. */
struct made {
    struct corpus_scene scene;
    struct corpus_manner manner;
    struct corpus_take take;
};

/* Draws until what is said has room in the plan. */
static enum sl_status draw_take(struct corpus_rng *rng, const struct corpus_order *order,
                                struct made *made, struct sl_error *error)
{
    static const size_t faults[] = {0, 0, 0, 1, 1, 1, 1, 2, 2, 2};
    size_t most = faults[corpus_rng_below(rng, sizeof faults / sizeof faults[0])];
    if (most > order->most_faults) {
        most = order->most_faults;
    }
    enum sl_status status = SL_INVALID;
    struct sl_error last = {0};
    for (int draw = 0; draw < DRAWS_MOST && (status == SL_INVALID || status == SL_NOT_FOUND);
         draw++) {
        struct corpus_steps steps;
        corpus_steps_right(rng, &made->scene, order->timed, &steps);
        corpus_steps_draw(rng, &made->scene, most, &steps);
        struct corpus_run run = {&made->scene, &steps, &made->manner};
        status = corpus_take_make(rng, &run, &made->take, &last);
    }
    if (status != SL_OK) {
        sl_fail(error, status, made->scene.junction.name, last.mend, "no run can be made: %s",
                last.what == NULL ? "memory ran out" : last.what);
    }
    sl_error_clear(&last);
    return status;
}

#define HEADING                                                                                    \
    "file\tsplit\tvoice\tpitch\tpace\ttract\troom\tmicrophone\tnoise\tsnr_db\tjunction\ttimed\t"   \
    "from_s\tduration_s\tsaid\tfaults\n"

static void list_manner(FILE *manifest, const struct corpus_manner *manner)
{
    const struct corpus_voice *voice = &manner->voice;
    fprintf(manifest, "%s\t%s\t%.3f\t%.3f\t%.3f\t%s\t%s\t%s\t",
            corpus_split_word(manner->speakers.split), voice->base, voice->pitch, voice->pace,
            voice->tract, corpus_room_word(manner->room),
            corpus_microphone_word(manner->microphone), corpus_noise_word(manner->noise));
    if (manner->noise == CORPUS_NOISE_NONE) {
        fprintf(manifest, "-\t");
    } else {
        fprintf(manifest, "%g\t", manner->snr_db);
    }
}

/* "mirrors@5.388[mirrors=interior,left] filler@7.100[-] ...": the words stand in the labels. */
static void list_said(FILE *manifest, const struct corpus_labels *labels)
{
    for (size_t i = 0; i < labels->n_said; i++) {
        char *settings = corpus_settings_text(&labels->said[i].settings);
        fprintf(manifest, "%s%s@%.3f[%s]", i == 0 ? "" : " ", labels->said[i].what,
                labels->said[i].start_s, settings == NULL ? "" : settings);
        free(settings);
    }
}

static void list_run(FILE *manifest, const struct made *made)
{
    const struct corpus_labels *labels = &made->take.labels;
    fprintf(manifest, "%s\t", labels->file);
    list_manner(manifest, &made->manner);
    fprintf(manifest, "%s\t%s\t%.3f\t%.3f\t", labels->junction, labels->timed ? "yes" : "no",
            labels->from_s, labels->duration_s);
    list_said(manifest, labels);
    fputs("\t", manifest);
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
    struct made made = {0};
    enum sl_status status = corpus_scene_load(junction, &making->routine, &made.scene, error);
    if (status == SL_OK) {
        made.manner = draw_manner(&rng, order);
        status = draw_take(&rng, order, &made, error);
    }
    char *name = sl_strf("run-%04zu", number);
    if (status == SL_OK) {
        status = name == NULL ? sl_fail_memory(error)
                              : corpus_recording_write(&made.take, order->folder, name, error);
    }
    if (status == SL_OK) {
        list_run(manifest, &made);
    }
    free(name);
    corpus_take_clear(&made.take);
    corpus_scene_clear(&made.scene);
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
    fprintf(manifest, HEADING);
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
