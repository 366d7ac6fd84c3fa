/*
 * Alignment of two sequences of tokens by the least total cost (dynamic programming).
 */
#ifndef SL_CORE_ALIGN_H
#define SL_CORE_ALIGN_H

#include "core/status.h"

#include <stddef.h>

struct sl_align_costs {
    double insertion, deletion, substitution;
};

/* NIST sclite's costs: insertion 3, deletion 3, substitution 4 (SCTK documentation). */
extern const struct sl_align_costs sl_align_sclite;
/* Insertion 1, deletion 1, substitution 1: Levenshtein distance. */
extern const struct sl_align_costs sl_align_levenshtein;
/* Substitution never beats deletion with insertion: what matches is a longest common subsequence,
 * so the unmatched tokens that occur on both sides are the smallest set of moved ones. */
extern const struct sl_align_costs sl_align_moves;

#define SL_ALIGN_NONE ((size_t)-1)

struct sl_align_pair {
    size_t ref, hyp; /* indices; SL_ALIGN_NONE on one side: deletion or insertion */
};

/* Initialise with {0}; release with sl_alignment_clear. */
struct sl_alignment {
    struct sl_align_pair *pairs; /* in order */
    size_t n_pairs;
    size_t correct, substitutions, deletions, insertions;
    double cost;
};

/* Two sequences of token numbers; nothing is owned. */
struct sl_align_input {
    const int *ref, *hyp;
    size_t n_ref, n_hyp;
    /* A tie-breaker, or NULL: n_ref x n_hyp values (row by ref) in [0, 1]. Among alignments of
     * equal cost, the one with the greatest sum of gains over correct pairs is taken. */
    const double *gain;
};

/*
 * Aligns two sequences. What still ties after cost and gain is settled from the end of the
 * sequences: a pair before a deletion, a deletion before an insertion, which gives sclite's counts
 * pair for pair. Costs are compared as they are summed: use whole numbers. n_ref x n_hyp steps, a
 * quarter of a byte each. SL_TOO_LARGE above 10,000 tokens a side. An earlier alignment in
 * *alignment is released.
 */
enum sl_status sl_align(const struct sl_align_input *input, const struct sl_align_costs *costs,
                        struct sl_alignment *alignment, struct sl_error *error);

void sl_alignment_clear(struct sl_alignment *alignment);

#endif
