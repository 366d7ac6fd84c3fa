#include "bench/quality_report.h"

#include <math.h>

static void print_share(size_t part, size_t whole)
{
    if (whole == 0) {
        printf(" %7s", "-");
    } else {
        printf(" %7.3f", (double)part / (double)whole);
    }
}

static void print_value(double value)
{
    if (isnan(value)) {
        printf(" %9s", "-");
    } else {
        printf(" %9.3f", value);
    }
}

static void print_counts(const char *name, const struct bench_counts *counts)
{
    printf("  %-14s %6zu %6zu %7zu", name, counts->labelled, counts->heard, counts->unclear);
    print_value(bench_precision(counts));
    print_value(bench_recall(counts));
    print_value(bench_f1(counts));
    print_value(bench_settings(counts));
    printf("\n");
}

static void print_phases(const struct sl_routine *routine, const struct bench_tally *tally)
{
    printf("  %-14s %6s %6s %7s %9s %9s %9s %9s\n", "phase", "said", "heard", "unclear",
           "precision", "recall", "F1", "settings");
    for (size_t i = 0; i < routine->n_phases; i++) {
        print_counts(routine->phases[i].id, &tally->phases[i]);
    }
    struct bench_counts total = bench_total(tally);
    print_counts("all", &total);
}

static void print_pairs(const struct bench_condition *condition)
{
    printf("  %-22s %6s %7s %7s %7s %7s\n", "twins (sayline)", "said", "right", "twin", "other",
           "unheard");
    for (int i = 0; i < BENCH_PAIR_COUNT; i++) {
        const struct bench_pair_counts *pair = &condition->outcomes[BENCH_SAYLINE].tally.pairs[i];
        printf("  %-22s %6zu %7zu %7zu %7zu %7zu\n", bench_pair_name((enum bench_pair)i),
               pair->said, pair->right, pair->twin, pair->other, pair->unheard);
    }
}

/* One line for each system: what the bars are about. */
static void print_outcomes(const struct bench_condition *condition)
{
    printf("  %-14s %6s %8s | %7s %7s %7s %7s | %9s %9s | %6s %6s\n", "system", "F1", "settings",
           "planted", "marked", "precis.", "recall", "start ms", "95 % ms", "twins", "x time");
    for (int i = 0; i < BENCH_SYSTEMS; i++) {
        struct bench_outcome outcome = condition->outcomes[i];
        if (outcome.tally.files == 0) {
            continue;
        }
        struct bench_counts total = bench_total(&outcome.tally);
        double median_s = NAN;
        double p95_s = NAN;
        bench_start_errors(&outcome.tally, &median_s, &p95_s);
        size_t twins = 0;
        for (int pair = 0; pair < BENCH_PAIR_COUNT; pair++) {
            twins += outcome.tally.pairs[pair].twin;
        }
        printf("  %-14s %6.3f %8.3f | %7zu %7zu", bench_system_name((enum bench_system)i),
               bench_f1(&total), bench_settings(&total), outcome.faults.planted,
               outcome.faults.marked);
        print_share(outcome.faults.right, outcome.faults.marked);
        print_share(outcome.faults.found, outcome.faults.planted);
        printf(" | %9.0f %9.0f | %6zu %6.3f\n", 1000 * median_s, 1000 * p95_s, twins,
               outcome.tally.cpu_s / outcome.tally.sound_s);
    }
}

static void print_reliability(const struct bench_figures *figures)
{
    struct bench_reliability all = {0};
    for (size_t i = 0; i < figures->n_conditions; i++) {
        bench_reliability_join(&all, &figures->conditions[i].reliability);
    }
    printf("Confidence of sayline's phrases, all recordings\n  %-12s %6s %11s %6s\n", "bin", "n",
           "confidence", "right");
    for (int i = 0; i < BENCH_BINS; i++) {
        if (all.n[i] > 0) {
            double n = (double)all.n[i];
            printf("  %.1f to %.1f   %6zu %11.3f %6.3f\n", i / (double)BENCH_BINS,
                   (i + 1) / (double)BENCH_BINS, all.n[i], all.sum[i] / n,
                   (double)all.right[i] / n);
        }
    }
    printf("  expected calibration error %.3f\n", bench_reliability_error(&all));
}

static void print_talk(const struct bench_talk *talk)
{
    printf("Speech about something else: %s, %.1f minutes\n", talk->name, talk->sound_s / 60);
    for (int i = 0; i < BENCH_SYSTEMS; i++) {
        if (talk->cpu_s[i] > 0) {
            printf("  %-14s %4zu false phrases, %5.2f a minute; %.3f of real time\n",
                   bench_system_name((enum bench_system)i), talk->phrases[i],
                   60 * (double)talk->phrases[i] / talk->sound_s, talk->cpu_s[i] / talk->sound_s);
        }
    }
}

static void print_starts(const struct bench_figures *figures)
{
    if (figures->sounds != NULL) {
        printf("Starting and hearing %s, in a process each\n", figures->sounds);
    }
    for (int i = 0; i < BENCH_SYSTEMS; i++) {
        const struct bench_start *start = &figures->starts[i];
        if (start->known) {
            printf("  %-14s start %.3f s of processor time, peak memory %.1f MB\n",
                   bench_system_name((enum bench_system)i), start->start_s, start->peak_mb);
        }
    }
}

void bench_print_table(const struct bench_figures *figures)
{
    for (size_t i = 0; i < figures->n_conditions; i++) {
        const struct bench_condition *condition = &figures->conditions[i];
        const struct bench_outcome *ours = &condition->outcomes[BENCH_SAYLINE];
        printf("%s: %zu recordings, %.0f s; of %zu the mark says that they are hard to hear\n",
               condition->name, ours->tally.files, ours->tally.sound_s, condition->warned);
        print_outcomes(condition);
        print_phases(figures->routine, &ours->tally);
        print_pairs(condition);
        printf("  unclear to the mark: %zu phases\n\n", ours->faults.unclear);
    }
    if (figures->n_conditions > 0) {
        print_reliability(figures);
    }
    for (size_t i = 0; i < figures->n_talks; i++) {
        print_talk(&figures->talks[i]);
    }
    print_starts(figures);
}
