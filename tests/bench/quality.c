#include "bench/quality.h"

#include "bench/recordings.h"

#include "core/str.h"
#include "corpus/scene.h"
#include "files/models.h"
#include "practice/mark_recording.h"

#include <stdlib.h>

#define GAP_S 0.5
#define MINUTE ((size_t)60 * SL_SPEECH_RATE_HZ)

const char *bench_system_name(enum bench_system system)
{
    static const char *const names[] = {"sayline", "stock", "stock helped", "stock keywords"};
    return names[system];
}

static enum sl_status open_recogniser(struct bench_ears *ears, struct sl_error *error)
{
    char *pronunciations = NULL;
    enum sl_status status = sl_models_path("pronunciations.dict", &pronunciations, error);
    if (status == SL_OK) {
        struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
        status = sl_recogniser_new(&ears->routine, &paths, NULL, &ears->recogniser, error);
    }
    free(pronunciations);
    return status;
}

enum sl_status bench_ears_open(const char *routine, const bool on[BENCH_SYSTEMS],
                               struct bench_ears *ears, struct sl_error *error)
{
    static const enum bench_stock_mode modes[BENCH_SYSTEMS] = {
        [BENCH_PLAIN] = BENCH_STOCK_PLAIN,
        [BENCH_MODEL] = BENCH_STOCK_MODEL,
        [BENCH_KEYWORDS] = BENCH_STOCK_KEYWORDS,
    };
    *ears = (struct bench_ears){0};
    enum sl_status status = sl_load_routine(routine, &ears->routine, error);
    for (int i = 0; i < BENCH_SYSTEMS && status == SL_OK; i++) {
        ears->on[i] = on[i];
        if (on[i] && i == BENCH_SAYLINE) {
            status = open_recogniser(ears, error);
        } else if (on[i]) {
            status = bench_stock_new(modes[i], &ears->routine, &ears->stock[i], error);
        }
    }
    if (status != SL_OK) {
        bench_ears_close(ears);
    }
    return status;
}

void bench_ears_close(struct bench_ears *ears)
{
    sl_recogniser_free(ears->recogniser);
    for (int i = 0; i < BENCH_SYSTEMS; i++) {
        bench_stock_free(ears->stock[i]);
    }
    sl_routine_clear(&ears->routine);
    *ears = (struct bench_ears){0};
}

/* One recording at work. */
struct hearing {
    struct bench_ears *ears;
    struct bench_condition *condition;
    const struct corpus_labels *labels;
    const struct corpus_scene *scene;
    const char *path;
    unsigned hiding; /* what may hide words in the sound, by its levels */
};

static struct sl_task task_of(const struct hearing *hearing)
{
    struct sl_mark_options options = {.timed = hearing->labels->timed,
                                      .from_s = hearing->labels->from_s,
                                      .hiding = hearing->hiding};
    return (struct sl_task){&hearing->ears->routine, &hearing->scene->junction,
                            &hearing->scene->plan, options};
}

static enum sl_status score(const struct hearing *hearing, int system,
                            const struct sl_heard_list *heard, const struct sl_mark *mark,
                            struct sl_error *error)
{
    struct bench_outcome *outcome = &hearing->condition->outcomes[system];
    const struct sl_routine *routine = &hearing->ears->routine;
    FILE *list = system == BENCH_SAYLINE ? hearing->ears->list : NULL;
    outcome->tally.list = list;
    enum sl_status status = bench_score(routine, hearing->labels, heard, &outcome->tally, error);
    return status == SL_OK
               ? bench_faults_count(routine, hearing->labels, mark, list, &outcome->faults)
               : status;
}

static void note_confidence(const struct hearing *hearing, const struct sl_heard_list *heard)
{
    const struct sl_routine *routine = &hearing->ears->routine;
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (item->phase < routine->n_phases) {
            bench_reliability_add(&hearing->condition->reliability, item->confidence,
                                  bench_is_wholly_right(routine, hearing->labels, item));
        }
    }
}

static enum sl_status hear_sayline(struct hearing *hearing, struct sl_error *error)
{
    struct bench_tally *tally = &hearing->condition->outcomes[BENCH_SAYLINE].tally;
    struct sl_marker marker = {.recogniser = hearing->ears->recogniser};
    struct sl_attempt attempt = {0};
    struct sl_task task = task_of(hearing);
    double before_s = bench_cpu_s();
    enum sl_status status = sl_mark_recording(&task, hearing->path, &marker, &attempt, error);
    tally->cpu_s += bench_cpu_s() - before_s;
    tally->sound_s += hearing->labels->duration_s;
    if (status == SL_OK) {
        hearing->hiding = sl_levels_hiding(&attempt.levels);
        hearing->condition->warned += hearing->hiding != 0 ? 1 : 0;
        note_confidence(hearing, &attempt.heard);
        status = score(hearing, BENCH_SAYLINE, &attempt.heard, &attempt.mark, error);
    }
    sl_attempt_clear(&attempt);
    return status;
}

static enum sl_status hear_stock(const struct hearing *hearing, int system,
                                 const struct bench_sound *sound, struct sl_error *error)
{
    struct bench_tally *tally = &hearing->condition->outcomes[system].tally;
    struct sl_heard_list heard = {0};
    struct sl_mark mark = {0};
    struct sl_task task = task_of(hearing);
    double before_s = bench_cpu_s();
    enum sl_status status =
        bench_stock_hear(hearing->ears->stock[system], sound->samples, sound->n, &heard, error);
    tally->cpu_s += bench_cpu_s() - before_s;
    tally->sound_s += hearing->labels->duration_s;
    if (status == SL_OK) {
        status = sl_mark_make(&task, &heard, &mark, error);
    }
    if (status == SL_OK) {
        status = score(hearing, system, &heard, &mark, error);
    }
    sl_mark_clear(&mark);
    sl_heard_clear(&heard);
    return status;
}

static enum sl_status hear_all(struct hearing *hearing, struct sl_error *error)
{
    struct bench_sound sound = {0};
    enum sl_status status = hearing->ears->on[BENCH_SAYLINE] ? hear_sayline(hearing, error) : SL_OK;
    for (int i = BENCH_SAYLINE + 1; i < BENCH_SYSTEMS && status == SL_OK; i++) {
        if (!hearing->ears->on[i]) {
            continue;
        }
        status = sound.n == 0 ? bench_sound_append(hearing->path, &sound, error) : SL_OK;
        if (status == SL_OK) {
            status = hear_stock(hearing, i, &sound, error);
        }
    }
    free(sound.samples);
    return status;
}

enum sl_status bench_condition_hear(struct bench_ears *ears, const char *labels_path,
                                    struct bench_condition *condition, struct sl_error *error)
{
    struct corpus_labels labels = {0};
    struct corpus_scene scene = {0};
    char *path = NULL;
    enum sl_status status = corpus_labels_read(labels_path, &labels, error);
    if (status == SL_OK) {
        status = corpus_scene_load(labels.junction, &ears->routine, &scene, error);
    }
    if (status == SL_OK) {
        path = bench_sound_beside(labels_path, labels.file);
        struct hearing hearing = {ears, condition, &labels, &scene, path, 0};
        status = path == NULL ? sl_fail_memory(error) : hear_all(&hearing, error);
    }
    free(path);
    corpus_scene_clear(&scene);
    corpus_labels_clear(&labels);
    return status;
}

void bench_condition_clear(struct bench_condition *condition)
{
    free(condition->name);
    for (int i = 0; i < BENCH_SYSTEMS; i++) {
        bench_tally_clear(&condition->outcomes[i].tally);
    }
    *condition = (struct bench_condition){0};
}

static enum sl_status hear_sound(struct bench_ears *ears, int system,
                                 const struct bench_sound *sound, struct sl_heard_list *heard,
                                 struct sl_error *error)
{
    if (system != BENCH_SAYLINE) {
        return bench_stock_hear(ears->stock[system], sound->samples, sound->n, heard, error);
    }
    enum sl_status status =
        sl_recogniser_feed(ears->recogniser, sound->samples, sound->n, heard, error);
    return status == SL_OK ? sl_recogniser_finish(ears->recogniser, heard, error) : status;
}

struct talking {
    struct bench_ears *ears;
    struct bench_talk *talk;
    struct bench_sound sound; /* not heard yet */
};

/* Lets all systems hear what has come together. */
static enum sl_status hear_talk(struct talking *talking, struct sl_error *error)
{
    struct bench_ears *ears = talking->ears;
    struct bench_talk *talk = talking->talk;
    enum sl_status status = SL_OK;
    for (int i = 0; i < BENCH_SYSTEMS && status == SL_OK && talking->sound.n > 0; i++) {
        struct sl_heard_list heard = {0};
        if (!ears->on[i]) {
            continue;
        }
        double before_s = bench_cpu_s();
        status = hear_sound(ears, i, &talking->sound, &heard, error);
        talk->cpu_s[i] += bench_cpu_s() - before_s;
        for (size_t k = 0; k < heard.count; k++) {
            const struct sl_heard *item = &heard.items[k];
            bool phrase = item->phase < ears->routine.n_phases && !item->unclear;
            talk->phrases[i] += phrase ? 1 : 0;
            if (phrase && i == BENCH_SAYLINE && ears->list != NULL) {
                (void)fprintf(ears->list, "%s\tfalse\t%.2f\theard: %s (%.2f)\n", talk->name,
                              talk->sound_s + item->start_s, item->text, item->confidence);
            }
        }
        sl_heard_clear(&heard);
    }
    talk->sound_s += (double)talking->sound.n / SL_SPEECH_RATE_HZ;
    free(talking->sound.samples);
    talking->sound = (struct bench_sound){0};
    return status;
}

static enum sl_status add_talk(void *user, const char *path, struct sl_error *error)
{
    struct talking *talking = user;
    enum sl_status status = bench_sound_append(path, &talking->sound, error);
    if (status == SL_OK) {
        status = bench_sound_pause(GAP_S, &talking->sound, error);
    }
    return status == SL_OK && talking->sound.n >= MINUTE ? hear_talk(talking, error) : status;
}

enum sl_status bench_talk_hear(struct bench_ears *ears, const char *folder, struct bench_talk *talk,
                               struct sl_error *error)
{
    struct talking talking = {ears, talk, {0}};
    enum sl_status status = bench_each_file(folder, ".wav", add_talk, &talking, error);
    if (status == SL_OK) {
        status = bench_each_file(folder, ".raw", add_talk, &talking, error);
    }
    if (status == SL_OK) {
        status = hear_talk(&talking, error);
    }
    free(talking.sound.samples);
    return status;
}
