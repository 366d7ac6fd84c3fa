/*
 * The accuracy bench: hears a folder of labelled recordings and prints how well, as a table or as
 * JSON. DEVELOPERS.md says how the corpus is made.
 *
 *   bench [--routine NAME] [--json] [--list] [--evidence] [--unlabelled] [--set KEY=VALUE]...
 *         [--every N] FOLDER|FILE...
 *
 * A folder stands for every .labels file in it, a label file for its recording beside it. With
 * --unlabelled, files are sounds in which nothing of the routine is said, and every clear phrase is
 * counted as false. --list shows each difference, --evidence each phrase with what its confidence
 * is made from and whether it is right; --every N takes each Nth label file only.
 */
#include "bench/recordings.h"
#include "bench/score.h"
#include "bench/tuning.h"

#include "core/statistics.h"
#include "core/str.h"
#include "files/models.h"
#include "sound/sound_reader.h"
#include "speech/confidence.h"
#include "speech/recogniser.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define BLOCK 16000

struct options {
    const char *routine;
    bool json, list, evidence, unlabelled;
    size_t every;
    struct sl_recogniser_settings settings;
};

struct bench {
    struct options options;
    struct sl_routine routine;
    struct sl_recogniser *recogniser;
    struct bench_tally tally;
    struct sl_error error;
    /* the recording at work */
    const struct corpus_labels *labels;
    size_t seen;
};

static void show_evidence(void *user, const struct sl_heard *heard,
                          const struct sl_evidence *evidence)
{
    const struct bench *bench = user;
    if (heard->phase >= bench->routine.n_phases) {
        return;
    }
    bool right = bench->labels != NULL && bench_is_right(&bench->routine, bench->labels, heard);
    printf(
        "%d\t%.4f\t%.4f\t%.3f\t%.2f\t%.2f\t%.1f\t%zu\t%s\t%.3f\t%s\t%s\t%.2f\t%.2f\t%.1f\t%d\t%d\n",
        right, evidence->score, evidence->worst_score, evidence->word_s, evidence->pause_s,
        evidence->stray_s, evidence->snr_db, evidence->n_words,
        bench->routine.phases[heard->phase].id, heard->confidence, heard->text,
        bench->labels != NULL ? bench->labels->file : "-", heard->start_s, heard->end_s,
        evidence->twin_margin, evidence->fitted, evidence->adapted);
}

/* Hears a whole file; the time spent in the recogniser is added to the tally. */
static enum sl_status hear(struct bench *bench, const char *path, struct sl_heard_list *heard)
{
    struct sl_sound_reader *reader = NULL;
    int16_t *block = malloc(BLOCK * sizeof(*block));
    enum sl_status status = block == NULL
                                ? sl_fail_memory(&bench->error)
                                : sl_sound_open(path, SL_SPEECH_RATE_HZ, &reader, &bench->error);
    size_t n = 1;
    while (status == SL_OK && n > 0) {
        status = sl_sound_read(reader, block, BLOCK, &n, &bench->error);
        double before_s = bench_cpu_s();
        if (status == SL_OK && n > 0) {
            status = sl_recogniser_feed(bench->recogniser, block, n, heard, &bench->error);
        } else if (status == SL_OK) {
            status = sl_recogniser_finish(bench->recogniser, heard, &bench->error);
        }
        bench->tally.cpu_s += bench_cpu_s() - before_s;
        bench->tally.sound_s += (double)n / SL_SPEECH_RATE_HZ;
    }
    sl_sound_close(reader);
    free(block);
    return status;
}

static enum sl_status hear_labelled(struct bench *bench, const char *path)
{
    struct corpus_labels labels = {0};
    struct sl_heard_list heard = {0};
    enum sl_status status = corpus_labels_read(path, &labels, &bench->error);
    if (status == SL_OK) {
        char *sound = bench_sound_beside(path, labels.file);
        bench->labels = &labels;
        status = sound == NULL ? sl_fail_memory(&bench->error) : hear(bench, sound, &heard);
        free(sound);
    }
    if (status == SL_OK) {
        status = bench_score(&bench->routine, &labels, &heard, &bench->tally, &bench->error);
    }
    bench->labels = NULL;
    sl_heard_clear(&heard);
    corpus_labels_clear(&labels);
    return status;
}

static enum sl_status hear_unlabelled(struct bench *bench, const char *path)
{
    struct corpus_labels nothing = {.file = (char *)path};
    struct sl_heard_list heard = {0};
    enum sl_status status = hear(bench, path, &heard);
    if (status == SL_OK) {
        status = bench_score(&bench->routine, &nothing, &heard, &bench->tally, &bench->error);
    }
    sl_heard_clear(&heard);
    return status;
}

static enum sl_status visit_labels(void *user, const char *path, struct sl_error *error)
{
    struct bench *bench = user;
    (void)error; /* the bench's own */
    return bench->seen++ % bench->options.every == 0 ? hear_labelled(bench, path) : SL_OK;
}

static enum sl_status hear_folder(struct bench *bench, const char *folder)
{
    return bench_each_file(folder, ".labels", visit_labels, bench, &bench->error);
}

static enum sl_status hear_path(struct bench *bench, const char *path)
{
    struct stat info;
    if (stat(path, &info) != 0) {
        return sl_fail(&bench->error, SL_NOT_FOUND, path, NULL, "no such file or folder");
    }
    if (bench->options.unlabelled) {
        return hear_unlabelled(bench, path);
    }
    return S_ISDIR(info.st_mode) ? hear_folder(bench, path) : hear_labelled(bench, path);
}

static void print_counts(const char *name, const struct bench_counts *counts)
{
    printf("%-10s %8zu %8zu %10.3f %8.3f %6.3f %9.3f %8zu\n", name, counts->labelled, counts->heard,
           bench_precision(counts), bench_recall(counts), bench_f1(counts), bench_settings(counts),
           counts->unclear);
}

static void print_table(struct bench *bench)
{
    struct bench_counts total = bench_total(&bench->tally);
    printf("%-10s %8s %8s %10s %8s %6s %9s %8s\n", "phase", "said", "heard", "precision", "recall",
           "F1", "settings", "unclear");
    for (size_t i = 0; i < bench->routine.n_phases; i++) {
        print_counts(bench->routine.phases[i].id, &bench->tally.phases[i]);
    }
    print_counts("all", &total);
    double bias_s = sl_quantile(bench->tally.start_errors_s, bench->tally.n_start_errors, 0.5);
    double median_s = NAN;
    double p95_s = NAN;
    bench_start_errors(&bench->tally, &median_s, &p95_s);
    printf("%zu recordings, %.0f s; start error %.0f ms (median), %.0f ms (95 %%), bias %.0f ms; "
           "real-time factor %.3f\n",
           bench->tally.files, bench->tally.sound_s, median_s * 1000, p95_s * 1000, bias_s * 1000,
           bench->tally.cpu_s / bench->tally.sound_s);
}

/* JSON has no word for "not a number". */
static void print_value(const char *key, double value)
{
    if (isfinite(value)) {
        printf(", \"%s\": %.4f", key, value);
    } else {
        printf(", \"%s\": null", key);
    }
}

static void print_json(struct bench *bench)
{
    struct bench_counts total = bench_total(&bench->tally);
    double median_s = NAN;
    double p95_s = NAN;
    bench_start_errors(&bench->tally, &median_s, &p95_s);
    printf("{\"recordings\": %zu, \"said\": %zu, \"heard\": %zu, \"unclear\": %zu",
           bench->tally.files, total.labelled, total.heard, total.unclear);
    print_value("precision", bench_precision(&total));
    print_value("recall", bench_recall(&total));
    print_value("f1", bench_f1(&total));
    print_value("settings", bench_settings(&total));
    print_value("start_median_s", median_s);
    print_value("start_p95_s", p95_s);
    print_value("false_phrases", (double)(total.heard - total.right));
    /* steps lost, steps with wrong settings, false phrases */
    print_value("errors",
                (double)(total.labelled - total.settings_right + total.heard - total.right));
    print_value("real_time_factor", bench->tally.cpu_s / bench->tally.sound_s);
    printf("}\n");
}

/* Reads the options; the index of the first path, or 0 when they are wrong. */
static int read_options(int argc, char **argv, struct options *options)
{
    int i = 1;
    for (; i < argc && strncmp(argv[i], "--", 2) == 0; i++) {
        const char *value = i + 1 < argc ? argv[i + 1] : NULL;
        if (strcmp(argv[i], "--json") == 0) {
            options->json = true;
        } else if (strcmp(argv[i], "--list") == 0) {
            options->list = true;
        } else if (strcmp(argv[i], "--evidence") == 0) {
            options->evidence = true;
        } else if (strcmp(argv[i], "--unlabelled") == 0) {
            options->unlabelled = true;
        } else if (strcmp(argv[i], "--routine") == 0 && value != NULL) {
            options->routine = argv[++i];
        } else if (strcmp(argv[i], "--every") == 0 && value != NULL) {
            options->every = strtoul(argv[++i], NULL, 10);
        } else if (strcmp(argv[i], "--set") != 0 || value == NULL ||
                   !bench_set(&options->settings, argv[++i])) {
            return 0;
        }
    }
    return i < argc && options->every > 0 ? i : 0;
}

static enum sl_status prepare(struct bench *bench)
{
    char *pronunciations = NULL;
    enum sl_status status = sl_load_routine(bench->options.routine, &bench->routine, &bench->error);
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &pronunciations, &bench->error);
    }
    if (status == SL_OK) {
        struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
        status = sl_recogniser_new(&bench->routine, &paths, &bench->options.settings,
                                   &bench->recogniser, &bench->error);
    }
    free(pronunciations);
    return status;
}

int main(int argc, char **argv)
{
    struct bench bench = {
        .options = {.routine = "decide-last", .every = 1, .settings = sl_recogniser_defaults()}};
    int first = read_options(argc, argv, &bench.options);
    if (first == 0) {
        (void)fprintf(stderr, "usage: bench [--routine NAME] [--json] [--list] [--evidence] "
                              "[--unlabelled] [--set KEY=VALUE]... [--every N] "
                              "FOLDER|FILE...\n");
        return 2;
    }
    bench.tally.list = bench.options.list ? stdout : NULL;
    if (bench.options.evidence) {
        bench.options.settings.trace = show_evidence;
        bench.options.settings.trace_user = &bench;
    }
    enum sl_status status = prepare(&bench);
    for (int i = first; i < argc && status == SL_OK; i++) {
        status = hear_path(&bench, argv[i]);
    }
    if (status != SL_OK) {
        (void)fprintf(stderr, "bench: %s: %s\n", bench.error.where != NULL ? bench.error.where : "",
                      bench.error.what != NULL ? bench.error.what : sl_status_name(status));
    } else if (bench.options.json) {
        print_json(&bench);
    } else {
        print_table(&bench);
    }
    sl_recogniser_free(bench.recogniser);
    sl_routine_clear(&bench.routine);
    bench_tally_clear(&bench.tally);
    sl_error_clear(&bench.error);
    return status == SL_OK ? 0 : 1;
}
