/*
 * The faults that a mark names against those that were planted. A planted fault is found when the
 * mark has one of its kind on its phase; a fault of the mark that was not planted is a false one.
 * "Unclear" is none, on either side: it says that nothing is known.
 */
#ifndef BENCH_FAULTS_H
#define BENCH_FAULTS_H

#include "corpus/labels.h"

#include "core/marking.h"

#include <stdio.h>

struct bench_faults {
    size_t planted, found;
    size_t marked, right;
    size_t unclear; /* phases that the mark calls unclear */
};

/* Differences are listed to `list` unless it is NULL. */
enum sl_status bench_faults_count(const struct sl_routine *routine,
                                  const struct corpus_labels *labels, const struct sl_mark *mark,
                                  FILE *list, struct bench_faults *faults);

#endif
