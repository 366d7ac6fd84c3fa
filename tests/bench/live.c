#include "bench/live.h"

#include "core/statistics.h"
#include "core/str.h"
#include "files/models.h"
#include "sound/sound_reader.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define BLOCK 320 /* 20 ms */
#define SLOW_S 0.5

enum sl_status bench_live_start(struct bench_live *bench, const char *routine, bool warm,
                                struct sl_error *error)
{
    *bench = (struct bench_live){.warm = warm};
    enum sl_status status = sl_load_routine(routine, &bench->routine, error);
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &bench->pronunciations, error);
    }
    struct sl_recogniser_paths paths = {.pronunciations = bench->pronunciations};
    if (status == SL_OK) {
        status = sl_recogniser_new(&bench->routine, &paths, NULL, &bench->recogniser, error);
    }
    return status;
}

/* A listener that knows nothing but the voice. */
static enum sl_status renew(struct bench_live *bench, const struct sl_voice *voice,
                            struct sl_error *error)
{
    struct sl_recogniser_paths paths = {.pronunciations = bench->pronunciations};
    struct sl_listener_setup setup = {.paths = &paths, .voice = voice};
    sl_listener_free(bench->listener);
    bench->listener = NULL;
    return sl_listener_new(&bench->routine, &setup, &bench->listener, error);
}

void bench_live_clear(struct bench_live *bench)
{
    sl_recogniser_free(bench->recogniser);
    sl_listener_free(bench->listener);
    free(bench->pronunciations);
    sl_routine_clear(&bench->routine);
    bench_tally_clear(&bench->whole);
    bench_tally_clear(&bench->live);
    free(bench->delays_s);
    *bench = (struct bench_live){0};
}

static double cpu_s(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static bool add_delay(struct bench_live *bench, double delay_s)
{
    double *delays = sl_grow(bench->delays_s, bench->n_delays, &bench->delays_room, sizeof *delays);
    if (delays == NULL) {
        return false;
    }
    bench->delays_s = delays;
    delays[bench->n_delays++] = delay_s;
    return true;
}

/* End of the last label of the phrase's phase that it overlaps; NAN when there is none. */
static double label_end_s(const struct bench_live *bench, const struct corpus_labels *labels,
                          const struct sl_heard *heard)
{
    double end_s = NAN;
    for (size_t i = 0; i < labels->n_said; i++) {
        const struct corpus_said *said = &labels->said[i];
        if (strcmp(said->what, bench->routine.phases[heard->phase].id) == 0 &&
            said->start_s < heard->end_s && said->end_s > heard->start_s) {
            end_s = said->end_s;
        }
    }
    return end_s;
}

/* One recording on its way through both. */
struct hearing {
    struct sl_heard_list whole, live, last;
    double *given_s; /* of each phrase of `live`: what was fed when it came out */
    size_t given_room;
    int16_t block[BLOCK];
    size_t n_fed;
};

/* The phrase that takes the place of phrase i last; i when it stands. */
static size_t stands_for(const struct sl_heard_list *heard, size_t i)
{
    size_t last = i;
    for (size_t j = i + 1; j < heard->count; j++) {
        last = sl_listener_replaces(&heard->items[j], &heard->items[i]) ? j : last;
    }
    return last;
}

/* Counts phrase i of the live side, which came out clear. */
static bool note(struct bench_live *bench, const struct corpus_labels *labels,
                 const struct hearing *hearing, size_t i)
{
    const struct sl_heard *item = &hearing->live.items[i];
    size_t by = stands_for(&hearing->live, i);
    bench->given++;
    if (by != i) {
        bench->replaced++;
        if (bench->list != NULL) {
            (void)fprintf(bench->list, "%s: \"%s\" takes the place of \"%s\"\n", labels->file,
                          hearing->live.items[by].text, item->text);
        }
        return true;
    }
    double delay_s = hearing->given_s[i] - label_end_s(bench, labels, item);
    if (bench->list != NULL && delay_s > SLOW_S) {
        (void)fprintf(bench->list, "%s: %.2f s late: %s, heard %.2f to %.2f s\n", labels->file,
                      delay_s, item->text, item->start_s, item->end_s);
    }
    return isnan(delay_s) || add_delay(bench, delay_s);
}

/* Looks at all that came out; the phrases that stand go to hearing->last. */
static enum sl_status look_back(struct bench_live *bench, const struct corpus_labels *labels,
                                struct hearing *hearing, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < hearing->live.count && status == SL_OK; i++) {
        const struct sl_heard *item = &hearing->live.items[i];
        if (item->phase < bench->routine.n_phases && !item->unclear &&
            !note(bench, labels, hearing, i)) {
            status = sl_fail_memory(error);
        }
        if (status == SL_OK && stands_for(&hearing->live, i) == i) {
            status = sl_heard_add(&hearing->last, item, error);
        }
    }
    return status;
}

/* Notes when the newest phrases came out. */
static bool stamp(struct hearing *hearing, size_t first)
{
    for (size_t i = first; i < hearing->live.count; i++) {
        double *given_s = sl_grow(hearing->given_s, i, &hearing->given_room, sizeof *given_s);
        if (given_s == NULL) {
            return false;
        }
        hearing->given_s = given_s;
        given_s[i] = (double)hearing->n_fed / SL_SPEECH_RATE_HZ;
    }
    return true;
}

static enum sl_status feed(struct bench_live *bench, struct hearing *hearing, size_t n,
                           struct sl_error *error)
{
    double before_s = cpu_s();
    enum sl_status status =
        n > 0 ? sl_recogniser_feed(bench->recogniser, hearing->block, n, &hearing->whole, error)
              : sl_recogniser_finish(bench->recogniser, &hearing->whole, error);
    double between_s = cpu_s();
    if (status == SL_OK) {
        status = n > 0 ? sl_listener_feed(bench->listener, hearing->block, n, &hearing->live, error)
                       : sl_listener_finish(bench->listener, &hearing->live, error);
    }
    bench->whole.cpu_s += between_s - before_s;
    bench->live.cpu_s += cpu_s() - between_s;
    hearing->n_fed += n;
    bench->whole.sound_s += (double)n / SL_SPEECH_RATE_HZ;
    bench->live.sound_s += (double)n / SL_SPEECH_RATE_HZ;
    return status;
}

static enum sl_status hear(struct bench_live *bench, const struct corpus_labels *labels,
                           const char *sound, struct hearing *hearing, struct sl_error *error)
{
    struct sl_sound_reader *reader = NULL;
    enum sl_status status = sl_sound_open(sound, SL_SPEECH_RATE_HZ, &reader, error);
    for (size_t n = 1; status == SL_OK && n > 0;) {
        size_t first = hearing->live.count;
        status = sl_sound_read(reader, hearing->block, BLOCK, &n, error);
        if (status == SL_OK) {
            status = feed(bench, hearing, n, error);
        }
        if (status == SL_OK && !stamp(hearing, first)) {
            status = sl_fail_memory(error);
        }
    }
    sl_sound_close(reader);
    if (status == SL_OK) {
        status = look_back(bench, labels, hearing, error);
    }
    return status;
}

/* Lets a new listener hear the whole sound, and another one know its voice. */
static enum sl_status learn(struct bench_live *bench, const char *sound, struct sl_error *error)
{
    int16_t block[BLOCK];
    struct sl_heard_list heard = {0};
    struct sl_sound_reader *reader = NULL;
    enum sl_status status = sl_sound_open(sound, SL_SPEECH_RATE_HZ, &reader, error);
    for (size_t n = 1; status == SL_OK && n > 0;) {
        status = sl_sound_read(reader, block, BLOCK, &n, error);
        if (status == SL_OK) {
            status = sl_listener_feed(bench->listener, block, n, &heard, error);
        }
    }
    sl_sound_close(reader);
    sl_heard_clear(&heard);
    double speech_s = 0;
    struct sl_voice voice = sl_listener_voice(bench->listener, &speech_s);
    return status == SL_OK ? renew(bench, &voice, error) : status;
}

enum sl_status bench_live_hear(struct bench_live *bench, const char *label_file,
                               struct sl_error *error)
{
    struct corpus_labels labels = {0};
    struct hearing hearing = {.n_fed = 0};
    char *sound = NULL;
    enum sl_status status = corpus_labels_read(label_file, &labels, error);
    if (status == SL_OK) {
        const char *slash = strrchr(label_file, '/');
        int length = slash != NULL ? (int)(slash - label_file + 1) : 0;
        sound = sl_strf("%.*s%s", length, label_file, labels.file);
        status = sound == NULL ? sl_fail_memory(error) : renew(bench, NULL, error);
    }
    if (status == SL_OK && bench->warm) {
        status = learn(bench, sound, error);
    }
    if (status == SL_OK) {
        status = hear(bench, &labels, sound, &hearing, error);
    }
    if (status == SL_OK) {
        status = bench_score(&bench->routine, &labels, &hearing.whole, NULL, &bench->whole, error);
    }
    if (status == SL_OK) {
        status =
            bench_score(&bench->routine, &labels, &hearing.last, bench->list, &bench->live, error);
    }
    free(sound);
    free(hearing.given_s);
    sl_heard_clear(&hearing.whole);
    sl_heard_clear(&hearing.live);
    sl_heard_clear(&hearing.last);
    corpus_labels_clear(&labels);
    return status;
}

double bench_live_delay_s(struct bench_live *bench, double share)
{
    return sl_quantile(bench->delays_s, bench->n_delays, share);
}
