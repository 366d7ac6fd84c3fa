/*
 * The bench of rehearsals: labelled recordings rehearse on a simulated microphone and speaker.
 * Prints, for each condition, how well the mark and the live ear hear, how soon phrases come out,
 * and with --mark whether the program marks the recordings again as they were marked live.
 *
 *   bench_rehearse [--prompting LEVEL] [--leak DB] [--delay SECONDS] [--silent] [--mark SAYLINE]
 *                  [--no-live] [--driven] [--keep FOLDER] [--list] LABELS...
 *
 * With --driven the words drive a car whose sound leaks in, and the delays are from the end of a
 * phrase to the first frame of its sound that follows it; there are no levels of prompting then.
 * Without --leak each level of prompting is run twice, without a leak and with one of -20 dB.
 */
#include "bench/rehearse.h"

#include <getopt.h>
#include <math.h>

#define USUAL_LEAK_DB (-20.0)
#define USUAL_DELAY_S 0.06

struct options {
    enum sl_prompting prompting; /* SL_PROMPTING_COUNT: all */
    double leak_db;              /* NAN: without and with the usual one */
    double delay_s;
    bool silent, deaf, driven, list;
    const char *program, *keep;
};

static bool take(int name, const char *value, struct options *options)
{
    switch (name) {
    case 'p':
        options->prompting = sl_prompting_from_word(value);
        return options->prompting != SL_PROMPTING_COUNT;
    case 'l':
        options->leak_db = strtod(value, NULL);
        return true;
    case 'd':
        options->delay_s = strtod(value, NULL);
        return options->delay_s > 0;
    case 's':
        return options->silent = true;
    case 'n':
        return options->deaf = true;
    case 'c':
        options->driven = true;
        options->prompting = SL_PROMPTING_NONE;
        return true;
    case 'm':
        options->program = value;
        return true;
    case 'k':
        options->keep = value;
        return true;
    case 'v':
        return options->list = true;
    default:
        return false;
    }
}

static double percent(double share)
{
    return 100 * share;
}

static void print_runs(const struct bench_condition *condition, struct bench_runs *runs,
                       const struct options *options)
{
    struct bench_counts mark = bench_total(&runs->mark);
    struct bench_counts live = bench_total(&runs->live);
    printf("%-8s %5.1f  ", sl_prompting_word(condition->prompting),
           condition->leak > 0 ? 20 * log10(condition->leak) : -INFINITY);
    if (condition->silent) {
        printf("%zu runs: false phrases in the mark %zu (unclear %zu), live %zu (unclear %zu)\n",
               runs->mark.files, mark.heard, mark.unclear, live.heard, live.unclear);
        return;
    }
    printf("%4zu  %5zu  %5.1f %5.1f %5.1f  %5.1f %5.1f  %4.0f %4.0f %4.0f  %zu", runs->mark.files,
           mark.labelled, percent(bench_recall(&mark)), percent(bench_precision(&mark)),
           percent((double)mark.settings_right / (double)mark.found), percent(bench_recall(&live)),
           percent(bench_precision(&live)), 1000 * bench_delays_s(&runs->delays, 0.5),
           1000 * bench_delays_s(&runs->delays, 0.95), 1000 * bench_delays_s(&runs->delays, 1),
           runs->half_duplex);
    if (options->program != NULL) {
        printf("  %zu", runs->differing);
    }
    putchar('\n');
    (void)fflush(stdout);
}

static enum sl_status measure(struct bench_rehearse *bench, const struct options *options,
                              char **labels, double leak_db, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (int level = 0; level < SL_PROMPTING_COUNT && status == SL_OK; level++) {
        if (options->prompting != SL_PROMPTING_COUNT && (int)options->prompting != level) {
            continue;
        }
        struct bench_condition condition = {.prompting = (enum sl_prompting)level,
                                            .leak = pow(10, leak_db / 20),
                                            .delay_s = options->delay_s,
                                            .silent = options->silent,
                                            .deaf = options->deaf,
                                            .driven = options->driven};
        struct bench_runs runs = {0};
        for (char **file = labels; *file != NULL && status == SL_OK; file++) {
            status = bench_rehearse_run(bench, *file, &condition, &runs, error);
        }
        if (status == SL_OK) {
            print_runs(&condition, &runs, options);
        }
        bench_runs_clear(&runs);
    }
    return status;
}

int main(int argc, char **argv)
{
    static const struct option names[] = {{"prompting", required_argument, NULL, 'p'},
                                          {"leak", required_argument, NULL, 'l'},
                                          {"delay", required_argument, NULL, 'd'},
                                          {"silent", no_argument, NULL, 's'},
                                          {"mark", required_argument, NULL, 'm'},
                                          {"keep", required_argument, NULL, 'k'},
                                          {"list", no_argument, NULL, 'v'},
                                          {"no-live", no_argument, NULL, 'n'},
                                          {"driven", no_argument, NULL, 'c'},
                                          {NULL, 0, NULL, 0}};
    struct options options = {
        .prompting = SL_PROMPTING_COUNT, .leak_db = NAN, .delay_s = USUAL_DELAY_S};
    int name = 0;
    bool right = true;
    while (right && (name = getopt_long(argc, argv, "", names, NULL)) != -1) {
        right = take(name, optarg, &options);
    }
    if (!right || optind == argc) {
        (void)fputs("usage: bench_rehearse [--prompting LEVEL] [--leak DB] [--delay SECONDS] "
                    "[--silent] [--mark SAYLINE] [--no-live] [--driven] [--keep FOLDER] [--list] "
                    "LABELS...\n",
                    stderr);
        return 2;
    }
    struct bench_rehearse bench;
    struct sl_error error = {0};
    enum sl_status status = bench_rehearse_start(&bench, &error);
    bench.program = options.program;
    bench.keep = options.keep;
    bench.list = options.list ? stdout : NULL;
    if (!options.silent) {
        puts("                                 mark              live         delay, ms      half\n"
             "cues     leak   runs  steps  recall prec. sett.  recall prec.  med. 95% worst  "
             "duplex  marked otherwise");
    }
    if (status == SL_OK && isnan(options.leak_db)) {
        status = measure(&bench, &options, argv + optind, -INFINITY, &error);
    }
    if (status == SL_OK) {
        double leak_db = isnan(options.leak_db) ? USUAL_LEAK_DB : options.leak_db;
        status = measure(&bench, &options, argv + optind, leak_db, &error);
    }
    if (status != SL_OK) {
        (void)fprintf(stderr, "bench_rehearse: %s\n",
                      error.what == NULL ? sl_status_name(status) : error.what);
    }
    bench_rehearse_clear(&bench);
    sl_error_clear(&error);
    return status == SL_OK ? 0 : 1;
}
