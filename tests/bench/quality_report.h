/*
 * The figures of the quality bench, as a table or as JSON.
 */
#ifndef BENCH_QUALITY_REPORT_H
#define BENCH_QUALITY_REPORT_H

#include "bench/quality.h"

#include <jansson.h>

/* What starting a system and hearing one recording take, in a process of its own. */
struct bench_start {
    bool known;
    double start_s; /* processor time until it can hear */
    double peak_mb; /* of resident memory */
};

struct bench_figures {
    const struct sl_routine *routine;
    const char *sounds; /* the recording that the starts were measured with */
    struct bench_start starts[BENCH_SYSTEMS];
    const struct bench_condition *conditions;
    size_t n_conditions;
    const struct bench_talk *talks;
    size_t n_talks;
};

/* Loses the signs of the start errors. */
void bench_print_table(const struct bench_figures *figures);

/* The caller releases it; NULL when memory runs out. */
json_t *bench_make_json(const struct bench_figures *figures);

#endif
