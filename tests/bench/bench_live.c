/*
 * The bench of live listening: hears labelled recordings with the listener, 20 ms at a time, and
 * with the recogniser, and prints how soon phrases are settled and how well both hear. With --warm
 * the listener knows the voice beforehand, as after a sound check.
 *
 *   bench_live [--routine NAME] [--warm] [--list] LABELS...
 */
#include "bench/live.h"

#include <math.h>
#include <string.h>

static void print_side(const char *name, const struct bench_tally *tally)
{
    struct bench_counts total = bench_total(tally);
    printf("%-16s precision %.3f  recall %.3f  F1 %.3f  settings %.3f  unclear %zu  real-time "
           "factor %.3f\n",
           name, bench_precision(&total), bench_recall(&total), bench_f1(&total),
           total.found > 0 ? (double)total.settings_right / (double)total.found : NAN,
           total.unclear, tally->cpu_s / tally->sound_s);
}

int main(int argc, char **argv)
{
    const char *routine = "decide-last";
    bool list = false;
    bool warm = false;
    int i = 1;
    for (; i < argc && strncmp(argv[i], "--", 2) == 0; i++) {
        if (strcmp(argv[i], "--list") == 0) {
            list = true;
        } else if (strcmp(argv[i], "--warm") == 0) {
            warm = true;
        } else if (strcmp(argv[i], "--routine") == 0 && i + 1 < argc) {
            routine = argv[++i];
        } else {
            i = argc;
        }
    }
    if (i >= argc) {
        (void)fputs("usage: bench_live [--routine NAME] [--warm] [--list] LABELS...\n", stderr);
        return 2;
    }
    struct bench_live bench;
    struct sl_error error = {0};
    enum sl_status status = bench_live_start(&bench, routine, warm, &error);
    bench.live.list = bench.delays.list = list ? stdout : NULL;
    for (; i < argc && status == SL_OK; i++) {
        status = bench_live_hear(&bench, argv[i], &error);
    }
    if (status != SL_OK) {
        (void)fprintf(stderr, "bench_live: %s: %s\n", error.where == NULL ? "" : error.where,
                      error.what == NULL ? sl_status_name(status) : error.what);
    } else {
        print_side("whole recording", &bench.whole);
        print_side("live", &bench.live);
        printf("%zu recordings, %.0f s; %zu phrases given out, %zu gone on with, %zu replaced by "
               "other words; the others came out "
               "%.0f ms (median), %.0f ms (95 %%), %.0f ms (worst) after their end\n",
               bench.live.files, bench.live.sound_s, bench.delays.given, bench.delays.gone_on,
               bench.delays.replaced, 1000 * bench_delays_s(&bench.delays, 0.5),
               1000 * bench_delays_s(&bench.delays, 0.95), 1000 * bench_delays_s(&bench.delays, 1));
    }
    bench_live_clear(&bench);
    sl_error_clear(&error);
    return status == SL_OK ? 0 : 1;
}
