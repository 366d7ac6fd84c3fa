/*
 * The program's bar, end to end: recordings of voices that were not used for choosing settings are
 * generated with known faults, marked by the built program, and the faults and times in its JSON
 * are compared with the labels. Each line of figures is printed; the bounds are asserted.
 */
#include "corpus/labels.h"
#include "support/program.h"

#include "core/statistics.h"
#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RUNS 120
#define START 5 /* of the random numbers: fixed before the first figure was seen */
#define FAULTS_LEAST 0.95
#define MEDIAN_MOST_S 0.060
#define P95_MOST_S 0.200

struct tally {
    size_t right, needless, overlooked; /* faults */
    double *errors_s;                   /* of phase starts */
    size_t n_errors, errors_room;
};

static const char *text_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    assert_non_null(text);
    return text;
}

static void compare_faults(const struct corpus_labels *labels, const json_t *faults,
                           struct tally *tally)
{
    bool *found = calloc(labels->n_truths + 1, sizeof *found);
    assert_non_null(found);
    for (size_t i = 0; i < json_array_size(faults); i++) {
        const json_t *fault = json_array_get(faults, i);
        const char *kind = text_of(fault, "kind");
        const char *phase = text_of(fault, "phase");
        size_t t = 0;
        while (t < labels->n_truths && (found[t] || strcmp(labels->truths[t].kind, kind) != 0 ||
                                        !corpus_truth_names(&labels->truths[t], phase))) {
            t++;
        }
        if (t < labels->n_truths) {
            found[t] = true;
            tally->right++;
        } else {
            tally->needless++;
            print_message("needless: %s %s:%s\n", labels->file, kind, phase);
        }
    }
    for (size_t t = 0; t < labels->n_truths; t++) {
        const struct corpus_truth *truth = &labels->truths[t];
        if (!found[t] && strcmp(truth->kind, "corrected") != 0) {
            tally->overlooked++;
            print_message("overlooked: %s %s:%s\n", labels->file, truth->kind, truth->phase);
        }
    }
    free(found);
}

/* Adds how far the start of each phase that was heard is from the nearest label of that phase. */
static void compare_starts(const struct corpus_labels *labels, const json_t *phases,
                           struct tally *tally)
{
    for (size_t i = 0; i < json_array_size(phases); i++) {
        const json_t *phase = json_array_get(phases, i);
        const json_t *at = json_object_get(phase, "at_s");
        double nearest_s = INFINITY;
        for (size_t s = 0; json_is_number(at) && s < labels->n_said; s++) {
            const struct corpus_said *said = &labels->said[s];
            double off_s = fabs(json_number_value(at) - said->start_s);
            if (strcmp(said->what, text_of(phase, "phase")) == 0 && off_s < nearest_s) {
                nearest_s = off_s;
            }
        }
        if (isfinite(nearest_s)) {
            tally->errors_s = sl_grow(tally->errors_s, tally->n_errors, &tally->errors_room,
                                      sizeof *tally->errors_s);
            assert_non_null(tally->errors_s);
            tally->errors_s[tally->n_errors++] = nearest_s;
        }
    }
}

/* The labels of run `number`. */
static void read_labels(const char *folder, size_t number, struct corpus_labels *labels)
{
    char *path = sl_strf("%s/run-%04zu.labels", folder, number);
    assert_int_equal(corpus_labels_read(path, labels, NULL), SL_OK);
    free(path);
}

/* Compares each line of the JSON with the labels of the run that it names. */
static size_t compare_lines(const char *folder, char *lines, struct tally *tally)
{
    size_t n = 0;
    char *save = NULL;
    for (char *line = strtok_r(lines, "\n", &save); line != NULL; n++) {
        json_t *result = json_loads(line, JSON_REJECT_DUPLICATES, NULL);
        assert_non_null(result);
        const char *number = strstr(text_of(result, "file"), "/run-");
        assert_non_null(number);
        struct corpus_labels labels = {0};
        read_labels(folder, strtoul(number + 5, NULL, 10), &labels);
        assert_string_equal(labels.junction, text_of(result, "junction"));
        compare_faults(&labels, json_object_get(result, "faults"), tally);
        compare_starts(&labels, json_object_get(result, "phases"), tally);
        corpus_labels_clear(&labels);
        json_decref(result);
        line = strtok_r(NULL, "\n", &save);
    }
    return n;
}

/* Marks all runs of one junction by one command and notes them in `marked`. */
static void mark_junction(const char *folder, const char *junction, bool *marked,
                          struct tally *tally)
{
    struct sl_str command = {0};
    size_t n = 0;
    sl_str_addf(&command, "sayline mark --untimed --json --jobs 2 --junction %s", junction);
    for (size_t i = 0; i < RUNS; i++) {
        struct corpus_labels labels = {0};
        read_labels(folder, i, &labels);
        assert_string_equal(labels.routine, "decide-last");
        if (strcmp(labels.junction, junction) == 0) {
            sl_str_addf(&command, " '%s/%s'", folder, labels.file);
            marked[i] = true;
            n++;
        }
        corpus_labels_clear(&labels);
    }
    struct sl_ran ran = sl_run(sl_str_text(&command));
    if (ran.code != 0) {
        fail_msg("%s: exit code %d: %s", junction, ran.code, ran.err);
    }
    assert_int_equal(compare_lines(folder, ran.out, tally), n);
    sl_ran_clear(&ran);
    sl_str_clear(&command);
}

static void mark_all(const char *folder, struct tally *tally)
{
    bool marked[RUNS] = {false};
    for (size_t i = 0; i < RUNS; i++) {
        struct corpus_labels labels = {0};
        read_labels(folder, i, &labels);
        if (!marked[i]) {
            mark_junction(folder, labels.junction, marked, tally);
        }
        assert_true(marked[i]);
        corpus_labels_clear(&labels);
    }
}

static void faults_and_times_of_unknown_voices_are_found(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct tally tally = {0};
    char *command = sl_strf("'%s' runs '%s' --split judge --count %d --start %d --noise clean",
                            SL_CORPUS_PROGRAM, folder, RUNS, START);
    assert_int_equal(system(command), 0);
    mark_all(folder, &tally);
    double precision = (double)tally.right / (double)(tally.right + tally.needless);
    double recall = (double)tally.right / (double)(tally.right + tally.overlooked);
    double median_s = sl_quantile(tally.errors_s, tally.n_errors, 0.5);
    double p95_s = sl_quantile(tally.errors_s, tally.n_errors, 0.95);
    print_message(
        "%d runs, %zu faults: precision %.3f, recall %.3f; %zu phases heard: start off by "
        "%.0f ms (median), %.0f ms (95 %%)\n",
        RUNS, tally.right + tally.overlooked, precision, recall, tally.n_errors, 1000.0 * median_s,
        1000.0 * p95_s);
    free(tally.errors_s);
    free(command);
    sl_scratch_remove(folder);
    assert_true(tally.right + tally.overlooked >= 60);
    assert_true(tally.n_errors >= 400);
    assert_true(precision >= FAULTS_LEAST);
    assert_true(recall >= FAULTS_LEAST);
    assert_true(median_s <= MEDIAN_MOST_S);
    assert_true(p95_s <= P95_MOST_S);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(faults_and_times_of_unknown_voices_are_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
