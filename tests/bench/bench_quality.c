/*
 * The quality bench: sh tests/bench/quality.sh makes the recordings and runs it.
 *
 *   bench_quality [--json FILE] [--list FILE] [--sayline-only] [--routine NAME] [--every N]
 *                 [--talk FOLDER]... [--start FILE.labels] FOLDER...
 *
 * Each FOLDER holds labelled recordings of one kind and gives the kind its name. --talk: a folder
 * of sounds in which nothing of the routine is said. --start: measure starting and memory with this
 * recording.
 */
#include "bench/quality_report.h"
#include "bench/recordings.h"

#include "core/str.h"

#include <getopt.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#define KINDS_MOST 32

struct options {
    const char *json, *list, *routine, *start;
    const char *talks[KINDS_MOST];
    size_t n_talks;
    size_t every;
    bool on[BENCH_SYSTEMS];
};

struct bench {
    struct options options;
    struct bench_ears ears;
    struct bench_condition conditions[KINDS_MOST];
    size_t n_conditions;
    struct bench_talk talks[KINDS_MOST];
    size_t n_talks;
    struct bench_start starts[BENCH_SYSTEMS];
    size_t seen;
};

static char *name_of(const char *folder)
{
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/') {
        length--;
    }
    size_t from = length;
    while (from > 0 && folder[from - 1] != '/') {
        from--;
    }
    return sl_strf("%.*s", (int)(length - from), folder + from);
}

static enum sl_status visit(void *user, const char *path, struct sl_error *error)
{
    struct bench *bench = user;
    if (bench->seen++ % bench->options.every != 0) {
        return SL_OK;
    }
    return bench_condition_hear(&bench->ears, path, &bench->conditions[bench->n_conditions - 1],
                                error);
}

static enum sl_status hear_condition(struct bench *bench, const char *folder,
                                     struct sl_error *error)
{
    if (bench->n_conditions == KINDS_MOST) {
        return sl_fail(error, SL_TOO_LARGE, folder, NULL, "no more than %d folders", KINDS_MOST);
    }
    struct bench_condition *condition = &bench->conditions[bench->n_conditions++];
    condition->name = name_of(folder);
    bench->seen = 0;
    (void)fprintf(stderr, "%s\n", folder);
    return condition->name == NULL ? sl_fail_memory(error)
                                   : bench_each_file(folder, ".labels", visit, bench, error);
}

static enum sl_status hear_talk(struct bench *bench, const char *folder, struct sl_error *error)
{
    struct bench_talk *talk = &bench->talks[bench->n_talks++];
    talk->name = name_of(folder);
    (void)fprintf(stderr, "%s\n", folder);
    return talk->name == NULL ? sl_fail_memory(error)
                              : bench_talk_hear(&bench->ears, folder, talk, error);
}

/* In a process of its own, so that its memory is only that of one system. */
static struct bench_start measure_start(const struct options *options, int system)
{
    bool on[BENCH_SYSTEMS] = {[BENCH_SAYLINE] = system == BENCH_SAYLINE};
    on[system] = true;
    struct bench_ears ears;
    struct bench_condition condition = {0};
    struct bench_start start = {0};
    double before_s = bench_cpu_s();
    if (bench_ears_open(options->routine, on, &ears, NULL) != SL_OK) {
        return start;
    }
    start.start_s = bench_cpu_s() - before_s;
    start.known = bench_condition_hear(&ears, options->start, &condition, NULL) == SL_OK;
    struct rusage usage;
    start.known = start.known && getrusage(RUSAGE_SELF, &usage) == 0;
    start.peak_mb = start.known ? (double)usage.ru_maxrss / 1024 : 0;
    bench_condition_clear(&condition);
    bench_ears_close(&ears);
    return start;
}

static struct bench_start measure_apart(const struct options *options, int system)
{
    struct bench_start start = {0};
    int ends[2];
    if (pipe(ends) != 0) {
        return start;
    }
    pid_t child = fork();
    if (child == 0) {
        start = measure_start(options, system);
        bool told = write(ends[1], &start, sizeof start) == (ssize_t)sizeof start;
        _exit(told ? EXIT_SUCCESS : EXIT_FAILURE);
    }
    close(ends[1]);
    if (child < 0 || read(ends[0], &start, sizeof start) != (ssize_t)sizeof start) {
        start = (struct bench_start){0};
    }
    close(ends[0]);
    if (child > 0) {
        waitpid(child, NULL, 0);
    }
    return start;
}

enum option_name { JSON, LIST, SAYLINE_ONLY, ROUTINE, EVERY, TALK, START };

static const struct option names[] = {{"json", required_argument, NULL, JSON},
                                      {"list", required_argument, NULL, LIST},
                                      {"sayline-only", no_argument, NULL, SAYLINE_ONLY},
                                      {"routine", required_argument, NULL, ROUTINE},
                                      {"every", required_argument, NULL, EVERY},
                                      {"talk", required_argument, NULL, TALK},
                                      {"start", required_argument, NULL, START},
                                      {NULL, 0, NULL, 0}};

static bool take_option(int name, const char *value, struct options *options)
{
    switch (name) {
    case JSON:
        options->json = value;
        return true;
    case LIST:
        options->list = value;
        return true;
    case SAYLINE_ONLY:
        memset(options->on, 0, sizeof options->on);
        options->on[BENCH_SAYLINE] = true;
        return true;
    case ROUTINE:
        options->routine = value;
        return true;
    case EVERY:
        options->every = strtoul(value, NULL, 10);
        return options->every > 0;
    case TALK:
        if (options->n_talks == KINDS_MOST) {
            return false;
        }
        options->talks[options->n_talks++] = value;
        return true;
    case START:
        options->start = value;
        return true;
    default:
        return false;
    }
}

static enum sl_status write_json(const struct bench_figures *figures, const char *path,
                                 struct sl_error *error)
{
    json_t *json = bench_make_json(figures);
    if (json == NULL) {
        return sl_fail_memory(error);
    }
    int failure = json_dump_file(json, path, JSON_INDENT(1) | JSON_REAL_PRECISION(6));
    json_decref(json);
    return failure == 0 ? SL_OK : sl_fail(error, SL_IO, path, NULL, "it cannot be written");
}

static enum sl_status run(struct bench *bench, char **folders, struct sl_error *error)
{
    const struct options *options = &bench->options;
    for (int i = 0; i < BENCH_SYSTEMS && options->start != NULL; i++) {
        bench->starts[i] = options->on[i] ? measure_apart(options, i) : bench->starts[i];
    }
    enum sl_status status = bench_ears_open(options->routine, options->on, &bench->ears, error);
    if (status == SL_OK && options->list != NULL) {
        bench->ears.list = fopen(options->list, "w");
    }
    for (char **folder = folders; *folder != NULL && status == SL_OK; folder++) {
        status = hear_condition(bench, *folder, error);
    }
    for (size_t i = 0; i < options->n_talks && status == SL_OK; i++) {
        status = hear_talk(bench, options->talks[i], error);
    }
    if (bench->ears.list != NULL) {
        (void)fclose(bench->ears.list);
    }
    return status;
}

static enum sl_status report(const struct bench *bench, struct sl_error *error)
{
    struct bench_figures figures = {.routine = &bench->ears.routine,
                                    .sounds = bench->options.start,
                                    .conditions = bench->conditions,
                                    .n_conditions = bench->n_conditions,
                                    .talks = bench->talks,
                                    .n_talks = bench->n_talks};
    memcpy(figures.starts, bench->starts, sizeof figures.starts);
    bench_print_table(&figures);
    return bench->options.json == NULL ? SL_OK : write_json(&figures, bench->options.json, error);
}

int main(int argc, char **argv)
{
    static struct bench bench = {
        .options = {.routine = "decide-last", .every = 1, .on = {true, true, true, true}}};
    int name;
    while ((name = getopt_long(argc, argv, "", names, NULL)) != -1) {
        if (!take_option(name, optarg, &bench.options)) {
            (void)fputs("usage: bench_quality [OPTION...] FOLDER...: see bench_quality.c\n",
                        stderr);
            return 2;
        }
    }
    struct sl_error error = {0};
    enum sl_status status = run(&bench, argv + optind, &error);
    if (status == SL_OK) {
        status = report(&bench, &error);
    }
    if (status != SL_OK) {
        (void)fprintf(stderr, "bench_quality: %s: %s\n", error.where == NULL ? "" : error.where,
                      error.what == NULL ? "failed" : error.what);
    }
    for (size_t i = 0; i < bench.n_conditions; i++) {
        bench_condition_clear(&bench.conditions[i]);
    }
    for (size_t i = 0; i < bench.n_talks; i++) {
        free(bench.talks[i].name);
    }
    bench_ears_close(&bench.ears);
    sl_error_clear(&error);
    return status == SL_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
