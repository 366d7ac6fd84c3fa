#include "bench/faults.h"

#include <stdlib.h>
#include <string.h>

static bool is_fault(const struct corpus_truth *truth)
{
    return strcmp(truth->kind, "corrected") != 0 &&
           strcmp(truth->kind, sl_fault_word(SL_FAULT_UNCLEAR)) != 0;
}

/* The planted fault that the mark means and that is not taken yet; n_truths: none. */
static size_t find_truth(const struct corpus_labels *labels, const char *kind, const char *phase,
                         const bool *taken)
{
    size_t t = 0;
    while (t < labels->n_truths && (taken[t] || strcmp(labels->truths[t].kind, kind) != 0 ||
                                    !corpus_truth_names(&labels->truths[t], phase))) {
        t++;
    }
    return t;
}

static void list_fault(FILE *list, const char *file, const char *what, const char *kind,
                       const char *phase)
{
    if (list != NULL) {
        (void)fprintf(list, "%s\t%s fault\t%s:%s\n", file, what, kind, phase);
    }
}

enum sl_status bench_faults_count(const struct sl_routine *routine,
                                  const struct corpus_labels *labels, const struct sl_mark *mark,
                                  FILE *list, struct bench_faults *faults)
{
    bool *taken = calloc(labels->n_truths + 1, sizeof *taken);
    if (taken == NULL) {
        return SL_NO_MEMORY;
    }
    for (size_t i = 0; i < mark->n_faults; i++) {
        const struct sl_fault *fault = &mark->faults[i];
        const char *kind = sl_fault_word(fault->kind);
        const char *phase = routine->phases[fault->phase].id;
        if (fault->kind == SL_FAULT_UNCLEAR) {
            faults->unclear++;
            continue;
        }
        faults->marked++;
        size_t t = find_truth(labels, kind, phase, taken);
        if (t < labels->n_truths) {
            taken[t] = true;
            faults->right++;
        } else {
            list_fault(list, labels->file, "false", kind, phase);
        }
    }
    for (size_t t = 0; t < labels->n_truths; t++) {
        const struct corpus_truth *truth = &labels->truths[t];
        faults->planted += is_fault(truth) ? 1 : 0;
        faults->found += taken[t] ? 1 : 0;
        if (is_fault(truth) && !taken[t]) {
            list_fault(list, labels->file, "overlooked", truth->kind, truth->phase);
        }
    }
    free(taken);
    return SL_OK;
}
