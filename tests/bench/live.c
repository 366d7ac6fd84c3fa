#include "bench/live.h"

#include "core/str.h"
#include "files/models.h"
#include "sound/sound_reader.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#define BLOCK 320 /* 20 ms */

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
    bench_delays_clear(&bench->delays);
    *bench = (struct bench_live){0};
}

static double cpu_s(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* One recording on its way through both. */
struct hearing {
    struct sl_heard_list whole, last;
    struct bench_given live;
    int16_t block[BLOCK];
    size_t n_fed;
};

static enum sl_status feed(struct bench_live *bench, struct hearing *hearing, size_t n,
                           struct sl_error *error)
{
    double before_s = cpu_s();
    enum sl_status status =
        n > 0 ? sl_recogniser_feed(bench->recogniser, hearing->block, n, &hearing->whole, error)
              : sl_recogniser_finish(bench->recogniser, &hearing->whole, error);
    double between_s = cpu_s();
    if (status == SL_OK) {
        status = n > 0 ? sl_listener_feed(bench->listener, hearing->block, n, &hearing->live.heard,
                                          error)
                       : sl_listener_finish(bench->listener, &hearing->live.heard, error);
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
        size_t first = hearing->live.heard.count;
        status = sl_sound_read(reader, hearing->block, BLOCK, &n, error);
        if (status == SL_OK) {
            status = feed(bench, hearing, n, error);
        }
        if (status == SL_OK &&
            !bench_given_stamp(&hearing->live, first, (double)hearing->n_fed / SL_SPEECH_RATE_HZ)) {
            status = sl_fail_memory(error);
        }
    }
    sl_sound_close(reader);
    if (status == SL_OK) {
        status = bench_delays_add(&bench->delays, &bench->routine, labels, &hearing->live,
                                  &hearing->last);
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
        status = bench_score(&bench->routine, &labels, &hearing.whole, &bench->whole, error);
    }
    if (status == SL_OK) {
        status = bench_score(&bench->routine, &labels, &hearing.last, &bench->live, error);
    }
    free(sound);
    sl_heard_clear(&hearing.whole);
    bench_given_clear(&hearing.live);
    sl_heard_clear(&hearing.last);
    corpus_labels_clear(&labels);
    return status;
}
