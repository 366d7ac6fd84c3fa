/*
 * What must hold of the recogniser, on a few generated recordings of speakers that no setting was
 * chosen by: it hears the routine better than PocketSphinx as it comes does on the same sound, and
 * whoever is right is hardly ever marked wrong. The figures are printed; sh tests/bench/quality.sh
 * measures them on more.
 */
#include "bench/quality.h"
#include "bench/recordings.h"

#include "corpus/runs.h"
#include "support/temp_folder.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define START 31 /* of the random numbers: fixed before the first figure was seen */

struct hearing {
    struct bench_ears ears;
    struct bench_condition condition;
};

static enum sl_status hear(void *user, const char *path, struct sl_error *error)
{
    struct hearing *hearing = user;
    return bench_condition_hear(&hearing->ears, path, &hearing->condition, error);
}

static void check(enum sl_status status, const struct sl_error *error)
{
    if (status != SL_OK) {
        fail_msg("%s: %s", error->where == NULL ? "" : error->where, error->what);
    }
}

static double f1(const struct hearing *hearing, enum bench_system system)
{
    const struct bench_outcome *outcome = &hearing->condition.outcomes[system];
    struct bench_counts total = bench_total(&outcome->tally);
    print_message("  %s: F1 %.3f; %zu faults marked, %zu rightly, of %zu planted\n",
                  bench_system_name(system), bench_f1(&total), outcome->faults.marked,
                  outcome->faults.right, outcome->faults.planted);
    return bench_f1(&total);
}

/* Hears recordings with noise of this level; 0: clean. */
static void hear_runs(size_t count, double snr_db, struct hearing *hearing)
{
    struct temp_folder folder = {{0}};
    assert_int_equal(temp_folder_make(&folder), 0);
    struct corpus_order order = {.folder = folder.path,
                                 .routine = "decide-last",
                                 .speakers = {.split = CORPUS_JUDGE},
                                 .count = count,
                                 .start = START,
                                 .noise = snr_db > 0 ? CORPUS_ANY : CORPUS_NOISE_NONE,
                                 .snr_db = snr_db,
                                 .most_faults = 2,
                                 .off_topic_chance = 0.15,
                                 .book_share = 0.5};
    struct sl_error error = {0};
    check(corpus_runs_make(&order, &error), &error);
    check(bench_each_file(folder.path, ".labels", hear, hearing, &error), &error);
    temp_folder_remove(&folder);
    assert_int_equal(hearing->condition.outcomes[BENCH_SAYLINE].tally.files, count);
}

static void check_level(size_t count, double snr_db, double least_f1)
{
    static const bool on[BENCH_SYSTEMS] = {true, true, true, true};
    struct hearing hearing = {0};
    struct sl_error error = {0};
    check(bench_ears_open("decide-last", on, &hearing.ears, &error), &error);
    hear_runs(count, snr_db, &hearing);
    double ours = f1(&hearing, BENCH_SAYLINE);
    double plain = f1(&hearing, BENCH_PLAIN);
    double model = f1(&hearing, BENCH_MODEL);
    double keywords = f1(&hearing, BENCH_KEYWORDS);
    const struct bench_faults *faults = &hearing.condition.outcomes[BENCH_SAYLINE].faults;
    /* A handful of faults at most: one needless is allowed for. */
    assert_true(faults->marked - faults->right <= 1);
    assert_true(ours >= least_f1);
    assert_true(plain > 0 && ours > plain);
    assert_true(model > 0 && ours > model);
    assert_true(keywords > 0 && ours > keywords);
    bench_condition_clear(&hearing.condition);
    bench_ears_close(&hearing.ears);
}

static void clean_speech_is_heard_better_than_by_the_stock_decoder(void **state)
{
    (void)state;
    check_level(4, 0, 0.93);
}

static void so_is_speech_in_noise(void **state)
{
    (void)state;
    check_level(2, 20, 0.75);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clean_speech_is_heard_better_than_by_the_stock_decoder),
        cmocka_unit_test(so_is_speech_in_noise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
