/*
 * Scoring what the recogniser heard against a recording's labels.
 *
 * Labels of one phase with none of another phase between them are one step ("interior mirror", a
 * pause, "left mirror"). A step is found when a clear phrase of its phase overlaps it in time; a
 * clear phrase is right when it overlaps a step of its phase. The settings of all phrases of a step
 * count together, as do those of its labels.
 */
#ifndef BENCH_SCORE_H
#define BENCH_SCORE_H

#include "bench/pairs.h"
#include "corpus/labels.h"

#include "core/heard.h"
#include "core/routine.h"
#include "core/status.h"

#include <stddef.h>
#include <stdio.h>

/* Counts of one phase, or of all. */
struct bench_counts {
    size_t labelled, found; /* recall */
    size_t heard, right;    /* precision */
    size_t settings_right;  /* among found */
    size_t unclear;         /* unclear phrases, counted nowhere else */
};

/* Initialise with {0}; release with bench_tally_clear. */
struct bench_tally {
    struct bench_counts phases[SL_PHASE_MAX];
    struct bench_pair_counts pairs[BENCH_PAIR_COUNT];
    double *start_errors_s; /* first phrase of a found step, less its first label */
    size_t n_start_errors, start_errors_room;
    size_t files;
    double sound_s, cpu_s;
    FILE *list; /* differences are listed to it; NULL: nowhere */
};

/* Adds a recording. */
enum sl_status bench_score(const struct sl_routine *routine, const struct corpus_labels *labels,
                           const struct sl_heard_list *heard, struct bench_tally *tally,
                           struct sl_error *error);

/* True when the phrase overlaps a step of its phase (a filler: never asked). */
bool bench_is_right(const struct sl_routine *routine, const struct corpus_labels *labels,
                    const struct sl_heard *heard);

/* The same, and every setting that it names was said in that step. */
bool bench_is_wholly_right(const struct sl_routine *routine, const struct corpus_labels *labels,
                           const struct sl_heard *heard);

/* Median and 95th percentile of the start errors, signs left out; NAN when there are none. Loses
 * the signs. */
void bench_start_errors(struct bench_tally *tally, double *median_s, double *p95_s);

/* Settings right among the steps that were found. */
double bench_settings(const struct bench_counts *counts);

struct bench_counts bench_total(const struct bench_tally *tally);

double bench_precision(const struct bench_counts *counts);
double bench_recall(const struct bench_counts *counts);
double bench_f1(const struct bench_counts *counts);

/* NULL is fine. */
void bench_tally_clear(struct bench_tally *tally);

#endif
