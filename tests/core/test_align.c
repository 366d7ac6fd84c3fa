#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/align.h"
#include "core/str.h"
#include "support/near.h"
#include "support/random.h"

#define WORDS_MAX 64

struct tokens {
    int token[WORDS_MAX];
    size_t n;
};

static struct tokens letters(const char *text)
{
    struct tokens tokens = {.n = strlen(text)};
    assert_in_range(tokens.n, 0, WORDS_MAX);
    for (size_t i = 0; i < tokens.n; i++) {
        tokens.token[i] = (unsigned char)text[i];
    }
    return tokens;
}

static struct sl_alignment align_by(const struct tokens *ref, const struct tokens *hyp,
                                    const struct sl_align_costs *costs, const double *gain)
{
    const struct sl_align_input input = {
        .ref = ref->token, .n_ref = ref->n, .hyp = hyp->token, .n_hyp = hyp->n, .gain = gain};
    struct sl_alignment alignment = {0};
    assert_int_equal(sl_align(&input, costs, &alignment, NULL), SL_OK);
    return alignment;
}

static struct sl_alignment align(const struct tokens *ref, const struct tokens *hyp,
                                 const struct sl_align_costs *costs)
{
    return align_by(ref, hyp, costs, NULL);
}

/* The alignment as two lines, ref over hyp, '-' where one side has nothing. */
static char *drawn(const struct sl_alignment *alignment, const char *ref, const char *hyp)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < alignment->n_pairs; i++) {
        size_t at = alignment->pairs[i].ref;
        sl_str_addf(&text, "%c", at == SL_ALIGN_NONE ? '-' : ref[at]);
    }
    sl_str_add(&text, "/");
    for (size_t i = 0; i < alignment->n_pairs; i++) {
        size_t at = alignment->pairs[i].hyp;
        sl_str_addf(&text, "%c", at == SL_ALIGN_NONE ? '-' : hyp[at]);
    }
    return sl_str_take(&text);
}

struct worked {
    const char *ref, *hyp;
    const struct sl_align_costs *costs;
    double cost;
    size_t correct, substitutions, deletions, insertions;
    const char *drawn;
};

/* The two Levenshtein distances 3 and 8 are the usual published examples (kitten/sitting:
 * Wikipedia, "Levenshtein distance"; rosettacode/raisethysword: Rosetta Code). The rest is worked
 * by hand. */
static const struct worked worked[] = {
    {"kitten", "sitting", &sl_align_levenshtein, 3, 4, 2, 0, 1, "kitten-/sitting"},
    {"rosettacode", "raisethysword", &sl_align_levenshtein, 8, 5, 6, 0, 2, NULL},
    {"MSP", "SMP", &sl_align_levenshtein, 2, 1, 2, 0, 0, "MSP/SMP"},
    {"MSP", "SMP", &sl_align_moves, 2, 2, 0, 1, 1, "-MSP/SM-P"},
    {"MSPGD", "MSPGD", &sl_align_moves, 0, 5, 0, 0, 0, "MSPGD/MSPGD"},
    {"MSPGD", "DMSPG", &sl_align_moves, 2, 4, 0, 1, 1, "-MSPGD/DMSPG-"},
    {"MSPGD", "MPGD", &sl_align_moves, 1, 4, 0, 1, 0, "MSPGD/M-PGD"},
    {"ab", "xy", &sl_align_moves, 4, 0, 0, 2, 2, NULL},
    {"ab", "xy", &sl_align_sclite, 8, 0, 2, 0, 0, "ab/xy"},
    {"abc", "", &sl_align_sclite, 9, 0, 0, 3, 0, "abc/---"},
    {"", "abc", &sl_align_sclite, 9, 0, 0, 0, 3, "---/abc"},
    {"", "", &sl_align_sclite, 0, 0, 0, 0, 0, "/"},
    /* 3 substitutions and 1 match with 2 deletions and 2 insertions both cost 12. */
    {"abx", "xde", &sl_align_sclite, 12, 0, 3, 0, 0, "abx/xde"},
};

static void alignments_worked_by_hand_come_out(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof worked / sizeof *worked; i++) {
        const struct worked *row = &worked[i];
        struct tokens ref = letters(row->ref);
        struct tokens hyp = letters(row->hyp);
        struct sl_alignment got = align(&ref, &hyp, row->costs);
        assert_near(got.cost, row->cost, 0);
        assert_int_equal(got.correct, row->correct);
        assert_int_equal(got.substitutions, row->substitutions);
        assert_int_equal(got.deletions, row->deletions);
        assert_int_equal(got.insertions, row->insertions);
        if (row->drawn != NULL) {
            char *text = drawn(&got, row->ref, row->hyp);
            assert_string_equal(text, row->drawn);
            free(text);
        }
        sl_alignment_clear(&got);
    }
}

/* Counts C S D I printed in the documentation of NIST's SCTK, sclite.htm and its sample reports.
 * The words are not printed there, so sentences with that many of each are made here, all words
 * different, and must be counted so. */
static void counts_documented_for_sclite_come_out(void **state)
{
    (void)state;
    static const size_t rows[][5] = {{14, 7, 0, 1, 21}, {34, 3, 1, 1, 38}, {4, 3, 0, 1, 7}};
    for (size_t i = 0; i < 3; i++) {
        const size_t *row = rows[i];
        struct tokens ref = {.n = row[4]};
        struct tokens hyp = {0};
        for (size_t k = 0; k < ref.n; k++) {
            ref.token[k] = (int)k;
        }
        for (size_t k = 0; k < row[1]; k++) { /* substituted; then come the deleted */
            hyp.token[hyp.n++] = 100 + (int)k;
        }
        for (size_t k = row[1] + row[2]; k < ref.n; k++) { /* correct */
            hyp.token[hyp.n++] = (int)k;
        }
        for (size_t k = 0; k < row[3]; k++) { /* inserted */
            hyp.token[hyp.n++] = 200 + (int)k;
        }
        struct sl_alignment got = align(&ref, &hyp, &sl_align_sclite);
        assert_int_equal(got.correct, row[0]);
        assert_int_equal(got.substitutions, row[1]);
        assert_int_equal(got.deletions, row[2]);
        assert_int_equal(got.insertions, row[3]);
        assert_int_equal(got.correct + got.substitutions + got.deletions, row[4]);
        sl_alignment_clear(&got);
    }
}

static void a_tie_goes_to_the_greater_gain(void **state)
{
    (void)state;
    struct tokens ref = letters("a");
    struct tokens hyp = letters("aaa");
    for (size_t best = 0; best < 3; best++) {
        double gain[3] = {0.25, 0.25, 0.25};
        gain[best] = 0.5;
        struct sl_alignment got = align_by(&ref, &hyp, &sl_align_moves, gain);
        assert_int_equal(got.n_pairs, 3);
        for (size_t k = 0; k < 3; k++) {
            assert_int_equal(got.pairs[k].hyp, k);
            assert_true((got.pairs[k].ref == 0) == (k == best));
        }
        sl_alignment_clear(&got);
    }
}

static void a_gain_never_outweighs_a_cost(void **state)
{
    (void)state;
    struct tokens ref = letters("ab");
    struct tokens hyp = letters("aba");
    const double gain[6] = {0, 0, 1, 0, 0, 0}; /* would draw a to the last */
    struct sl_alignment got = align_by(&ref, &hyp, &sl_align_moves, gain);
    assert_int_equal(got.correct, 2);
    assert_int_equal(got.pairs[0].hyp, 0);
    sl_alignment_clear(&got);
}

static void more_tokens_than_allowed_are_refused(void **state)
{
    (void)state;
    const int token = 0;
    struct sl_alignment got = {0};
    struct sl_error error = {0};
    struct sl_align_input input = {.ref = &token, .n_ref = 1, .hyp = &token, .n_hyp = 10001};
    assert_int_equal(sl_align(&input, &sl_align_moves, &got, &error), SL_TOO_LARGE);
    assert_non_null(strstr(error.what, "10001"));
    assert_non_null(error.mend);
    sl_error_clear(&error);
    input = (struct sl_align_input){.ref = &token, .n_ref = 10001, .hyp = &token, .n_hyp = 1};
    assert_int_equal(sl_align(&input, &sl_align_moves, &got, NULL), SL_TOO_LARGE);
    assert_null(got.pairs);
    sl_alignment_clear(NULL);
}

static void a_long_pair_is_aligned(void **state)
{
    (void)state;
    const size_t n = 3000;
    int *ref = calloc(n, sizeof *ref);
    assert_non_null(ref);
    for (size_t i = 0; i < n; i++) {
        ref[i] = (int)i;
    }
    struct sl_alignment got = {0};
    const struct sl_align_input input = {.ref = ref, .n_ref = n, .hyp = ref + 1, .n_hyp = n - 1};
    assert_int_equal(sl_align(&input, &sl_align_sclite, &got, NULL), SL_OK);
    assert_int_equal(got.correct, n - 1);
    assert_int_equal(got.deletions, 1);
    assert_int_equal(got.pairs[0].hyp, SL_ALIGN_NONE);
    sl_alignment_clear(&got);
    free(ref);
}

static size_t longest_common(const struct tokens *ref, const struct tokens *hyp)
{
    size_t length[10][10] = {{0}};
    for (size_t i = 1; i <= ref->n; i++) {
        for (size_t j = 1; j <= hyp->n; j++) {
            size_t up = length[i - 1][j];
            size_t left = length[i][j - 1];
            bool same = ref->token[i - 1] == hyp->token[j - 1];
            length[i][j] = up > left ? up : left;
            length[i][j] = same ? length[i - 1][j - 1] + 1 : length[i][j];
        }
    }
    return length[ref->n][hyp->n];
}

/* With sl_align_moves what matches is a longest common subsequence: checked against the textbook
 * recurrence for its length. */
static void moves_leave_a_longest_common_subsequence(void **state)
{
    (void)state;
    uint64_t random = 11;
    for (size_t round = 0; round < 500; round++) {
        struct tokens ref = {.n = random_below(&random, 9)};
        struct tokens hyp = {.n = random_below(&random, 9)};
        for (size_t i = 0; i < 9; i++) {
            ref.token[i] = (int)random_below(&random, 4);
            hyp.token[i] = (int)random_below(&random, 4);
        }
        struct sl_alignment got = align(&ref, &hyp, &sl_align_moves);
        assert_int_equal(got.correct, longest_common(&ref, &hyp));
        assert_int_equal(got.substitutions, 0);
        sl_alignment_clear(&got);
    }
}

/* ---- the same pairs through NIST's sclite (Debian package sctk) ---- */

#define SCLITE "/usr/lib/sctk/bin/sclite"
#define PAIRS 800

struct pair {
    struct tokens ref, hyp;
};

static void make_pair(struct pair *pair, uint64_t *random)
{
    bool edited = random_below(random, 2) == 1;
    size_t longest = random_below(random, 4) == 0 ? 40 : 9;
    size_t words = 2 + random_below(random, 7);
    *pair = (struct pair){.ref.n = 1 + random_below(random, longest)};
    for (size_t i = 0; i < pair->ref.n; i++) {
        pair->ref.token[i] = (int)random_below(random, words);
    }
    if (!edited) {
        pair->hyp.n = random_below(random, longest);
        for (size_t i = 0; i < pair->hyp.n; i++) {
            pair->hyp.token[i] = (int)random_below(random, words);
        }
        return;
    }
    for (size_t i = 0; i < pair->ref.n; i++) { /* like what a listener makes of it */
        size_t what = random_below(random, 8);
        if (what != 0) {
            pair->hyp.token[pair->hyp.n++] =
                what == 1 ? (int)random_below(random, words) : pair->ref.token[i];
        }
        if (what == 2 && pair->hyp.n < WORDS_MAX - 2) {
            pair->hyp.token[pair->hyp.n++] = (int)random_below(random, words);
        }
    }
}

static void write_trn(const char *path, const struct pair *pairs, bool hyp)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    for (size_t i = 0; i < PAIRS; i++) {
        const struct tokens *tokens = hyp ? &pairs[i].hyp : &pairs[i].ref;
        for (size_t k = 0; k < tokens->n; k++) {
            (void)fprintf(file, "%c ", 'a' + tokens->token[k]);
        }
        (void)fprintf(file, "(s-%zu)\n", i);
    }
    assert_int_equal(fclose(file), 0);
}

/* One line of sclite's SGML: C,"a","a":S,"b","c":D,"d",:I,,"e" */
static void count_line(const char *line, size_t counts[4])
{
    static const char kinds[] = "CSDI";
    for (const char *at = line; at != NULL && *at != '\0' && *at != '\n';) {
        const char *kind = strchr(kinds, *at);
        assert_non_null(kind);
        counts[kind - kinds]++;
        at = strchr(at, ':');
        at = at == NULL ? NULL : at + 1;
    }
}

static void counts_equal_those_of_nist_sclite(void **state)
{
    (void)state;
    if (access(SCLITE, X_OK) != 0) {
        print_message("SKIPPED: %s is not installed (Debian package sctk)\n", SCLITE);
        skip();
    }
    struct pair *pairs = calloc(PAIRS, sizeof *pairs);
    assert_non_null(pairs);
    uint64_t random = 20240229;
    for (size_t i = 0; i < PAIRS; i++) {
        make_pair(&pairs[i], &random);
    }
    const char *ref_path = SL_BUILD_DIR "/align_ref.trn";
    const char *hyp_path = SL_BUILD_DIR "/align_hyp.trn";
    write_trn(ref_path, pairs, false);
    write_trn(hyp_path, pairs, true);
    /* NOLINTNEXTLINE(cert-env33-c): a fixed command line, in a test */
    FILE *sclite = popen(SCLITE " -r " SL_BUILD_DIR "/align_ref.trn trn -h " SL_BUILD_DIR
                                "/align_hyp.trn trn -i rm -o sgml stdout",
                         "r");
    assert_non_null(sclite);
    char line[4096];
    size_t compared = 0;
    while (fgets(line, sizeof line, sclite) != NULL) {
        if (strncmp(line, "<PATH id=\"(s-", 13) != 0) {
            continue;
        }
        size_t index = strtoul(line + 13, NULL, 10);
        assert_true(index < PAIRS);
        assert_non_null(fgets(line, sizeof line, sclite));
        size_t theirs[4] = {0};
        count_line(line, theirs);
        struct sl_alignment ours = align(&pairs[index].ref, &pairs[index].hyp, &sl_align_sclite);
        assert_near(ours.cost, (double)(4 * theirs[1] + 3 * (theirs[2] + theirs[3])), 0);
        assert_int_equal(ours.correct, theirs[0]);
        assert_int_equal(ours.substitutions, theirs[1]);
        assert_int_equal(ours.deletions, theirs[2]);
        assert_int_equal(ours.insertions, theirs[3]);
        sl_alignment_clear(&ours);
        compared++;
    }
    assert_int_equal(pclose(sclite), 0);
    assert_int_equal(compared, PAIRS);
    (void)remove(ref_path);
    (void)remove(hyp_path);
    free(pairs);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(alignments_worked_by_hand_come_out),
        cmocka_unit_test(counts_documented_for_sclite_come_out),
        cmocka_unit_test(a_tie_goes_to_the_greater_gain),
        cmocka_unit_test(a_gain_never_outweighs_a_cost),
        cmocka_unit_test(more_tokens_than_allowed_are_refused),
        cmocka_unit_test(a_long_pair_is_aligned),
        cmocka_unit_test(moves_leave_a_longest_common_subsequence),
        cmocka_unit_test(counts_equal_those_of_nist_sclite),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
