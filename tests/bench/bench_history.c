/*
 * Fills a history with runs and prints how long `sayline progress` takes on it. A bench, not a
 * test: the figures belong to the machine; take a release build. usage: bench_history N SAYLINE
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <errno.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <time.h>

#include "store/history_scene.h"

#define TIMES 9

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Runs that change over time: a clean one, a missed signal, a late gear, an unclear one. */
static const char *const scripts[] = {
    CLEAN,
    "mirrors interior left @4; speed 10 @12; gear 2 up @16; decide go @24",
    "um @1; mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22; decide go @25",
    "mirrors interior left @4; ?signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
};

static int fill(const char *path, long n)
{
    struct sl_history *history = NULL;
    if (sl_history_open(path, &history, NULL) != SL_OK) {
        return -1;
    }
    int worst = 0;
    for (long i = 0; i < n && worst == 0; i++) {
        const struct told told = {.learner = "me",
                                  .script = scripts[(i / 7 + i) % 4],
                                  .where = i % 3 == 0 ? CLOSED : T_LEFT};
        worst = scene_add(history, &told) == SL_OK ? 0 : -1;
    }
    sl_history_close(history);
    return worst;
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

struct taken {
    double clock_s, processor_s;
};

static double children_s(void)
{
    struct rusage used;
    getrusage(RUSAGE_CHILDREN, &used);
    return (double)(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
           1e-6 * (double)(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}

/* The middle of some runs of the program, and its mean processor time (a machine that is busy
 * otherwise falsifies the clock). */
static struct taken measure(const char *command)
{
    double times[TIMES];
    double before_s = children_s();
    for (size_t i = 0; i < TIMES; i++) {
        double begun = now_s();
        if (system(command) != 0) { // NOLINT(cert-env33-c): a command line of the caller's
            return (struct taken){NAN, NAN};
        }
        times[i] = now_s() - begun;
    }
    qsort(times, TIMES, sizeof *times, compare);
    return (struct taken){times[TIMES / 2], (children_s() - before_s) / TIMES};
}

int main(int argc, char **argv)
{
    struct temp_folder folder;
    char data[TEMP_PATH_MAX];
    char path[TEMP_PATH_MAX + 32];
    long n = argc == 3 ? strtol(argv[1], NULL, 10) : 0;
    if (n < 1 || temp_folder_make(&folder) != 0) {
        fprintf(stderr, "usage: bench_history N SAYLINE\n");
        return 2;
    }
    temp_folder_name(&folder, "sayline", data);
    snprintf(path, sizeof path, "%s/history.sqlite", data);
    if (mkdir(data, 0700) != 0 || fill(path, n) != 0) {
        fprintf(stderr, "the history cannot be filled: %s\n", strerror(errno));
        return 1;
    }
    setenv("XDG_DATA_HOME", folder.path, 1);
    char *progress = sl_strf("'%s' progress >/dev/null", argv[2]);
    char *version = sl_strf("'%s' --version >/dev/null", argv[2]);
    struct stat found = {0};
    (void)stat(path, &found);
    struct taken whole = measure(progress);
    struct taken start = measure(version);
    printf("%ld runs, %.1f MB\n", n, (double)found.st_size / 1e6);
    printf("progress:  %.3f s on the clock, %.3f s of processor time\n", whole.clock_s,
           whole.processor_s);
    printf("--version: %.3f s on the clock, %.3f s of processor time\n", start.clock_s,
           start.processor_s);
    free(version);
    free(progress);
    (void)unlink(path);
    (void)rmdir(data);
    temp_folder_remove(&folder);
    return 0;
}
