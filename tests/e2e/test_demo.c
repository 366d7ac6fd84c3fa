/*
 * The demo recordings, end to end: each is marked by the built program as audio/demo/README.md
 * says, and the mark has the faults that its label file names and no other.
 */
#include "corpus/labels.h"
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <glob.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#define DEMOS 16

static const char *text_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    assert_non_null(text);
    return text;
}

/* Whether a list of the mark has an entry about the phase of `truth`. */
static bool names(const json_t *list, const char *kind, const struct corpus_truth *truth)
{
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *item = json_array_get(list, i);
        if (corpus_truth_names(truth, text_of(item, "phase")) &&
            (kind == NULL || strcmp(text_of(item, "kind"), kind) == 0)) {
            return true;
        }
    }
    return false;
}

static json_t *mark_of(const struct corpus_labels *labels)
{
    char *command = sl_strf("sayline mark --json %s --junction %s 'audio/demo/%s'",
                            labels->timed ? "" : "--untimed", labels->junction, labels->file);
    struct sl_ran ran = sl_run(command);
    if (ran.code != 0) {
        fail_msg("%s: exit code %d: %s", labels->file, ran.code, ran.err);
    }
    json_t *mark = json_loads(ran.out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(mark);
    sl_ran_clear(&ran);
    free(command);
    return mark;
}

/* How many things the mark of a recording says otherwise than its labels. */
static size_t differences(const struct corpus_labels *labels)
{
    json_t *mark = mark_of(labels);
    const json_t *faults = json_object_get(mark, "faults");
    const json_t *unclear = json_object_get(mark, "unclear");
    size_t n_faults = 0;
    size_t n_unclear = 0;
    size_t n_wrong = 0;
    for (size_t t = 0; t < labels->n_truths; t++) {
        const struct corpus_truth *truth = &labels->truths[t];
        if (strcmp(truth->kind, "corrected") == 0) {
            continue;
        }
        bool is_unclear = strcmp(truth->kind, "unclear") == 0;
        n_faults += is_unclear ? 0 : 1;
        n_unclear += is_unclear ? 1 : 0;
        if (is_unclear ? !names(unclear, NULL, truth) : !names(faults, truth->kind, truth)) {
            print_error("%s: no %s:%s\n", labels->file, truth->kind, truth->phase);
            n_wrong++;
        }
    }
    for (size_t i = 0; json_array_size(faults) != n_faults && i < json_array_size(faults); i++) {
        const json_t *fault = json_array_get(faults, i);
        print_error("%s: named: %s:%s\n", labels->file, text_of(fault, "kind"),
                    text_of(fault, "phase"));
    }
    n_wrong += json_array_size(faults) != n_faults ? 1 : 0;
    /* What noise hides may be unclear; without noise nothing is that was not meant to be. */
    if (strcmp(labels->noise, "clean") == 0 && json_array_size(unclear) != n_unclear) {
        print_error("%s: %zu unclear\n", labels->file, json_array_size(unclear));
        n_wrong++;
    }
    json_decref(mark);
    return n_wrong;
}

static void each_demo_has_the_faults_of_its_labels_and_no_other(void **state)
{
    (void)state;
    glob_t found = {0};
    assert_int_equal(glob(SL_SOURCE_DIR "/audio/demo/*.labels", 0, NULL, &found), 0);
    size_t n_demos = found.gl_pathc;
    size_t n_wrong = 0;
    for (size_t i = 0; i < n_demos; i++) {
        struct corpus_labels labels = {0};
        assert_int_equal(corpus_labels_read(found.gl_pathv[i], &labels, NULL), SL_OK);
        n_wrong += differences(&labels);
        corpus_labels_clear(&labels);
    }
    globfree(&found);
    assert_int_equal(n_demos, DEMOS);
    assert_int_equal(n_wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_demo_has_the_faults_of_its_labels_and_no_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
