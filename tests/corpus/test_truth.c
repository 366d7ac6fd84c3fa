/*
 * The generator and the marker check each other: a run that is heard perfectly, word for word as
 * labelled, must be marked with the faults that were put into it, and no other.
 */
#include "demo.h"
#include "labels.h"
#include "runs.h"
#include "scene.h"

#include "core/heard.h"
#include "core/marking.h"
#include "core/str.h"
#include "files/models.h"
#include "support/temp_folder.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define RUNS 24

/* The phase that a label is about; n_phases + 1 for talk that is not heard as anything. */
static size_t phase_of(const struct sl_routine *routine, const char *what)
{
    if (strcmp(what, "filler") == 0) {
        return SL_PHRASE_FILLER;
    }
    if (strcmp(what, "correction") == 0) {
        return SL_PHRASE_CORRECTION;
    }
    return sl_routine_phase(routine, what);
}

static bool is_labelled(const struct corpus_labels *labels, const char *kind, const char *phase)
{
    for (size_t i = 0; i < labels->n_truths; i++) {
        if (strcmp(labels->truths[i].kind, kind) == 0 &&
            corpus_truth_names(&labels->truths[i], phase)) {
            return true;
        }
    }
    return false;
}

static void hear_perfectly(const struct corpus_labels *labels, const struct sl_routine *routine,
                           struct sl_heard_list *list)
{
    for (size_t i = 0; i < labels->n_said; i++) {
        const struct corpus_said *said = &labels->said[i];
        struct sl_heard heard = {.phase = phase_of(routine, said->what),
                                 .text = said->text,
                                 .start_s = said->start_s,
                                 .end_s = said->end_s,
                                 .confidence = 1,
                                 .unclear = is_labelled(labels, "unclear", said->what),
                                 .settings = said->settings};
        if (heard.phase != routine->n_phases) {
            assert_int_equal(sl_heard_add(list, &heard, NULL), SL_OK);
        }
    }
}

/* Number of differences; each is told. */
static size_t compare(const struct corpus_labels *labels, const struct sl_mark *mark,
                      const struct sl_routine *routine)
{
    size_t wrong = 0;
    size_t faults = 0;
    for (size_t i = 0; i < mark->n_faults; i++) {
        const char *kind = sl_fault_word(mark->faults[i].kind);
        const char *phase = routine->phases[mark->faults[i].phase].id;
        if (!is_labelled(labels, kind, phase)) {
            print_error("%s %s: marked %s %s: %s\n", labels->file, labels->junction, kind, phase,
                        mark->faults[i].what);
            wrong++;
        }
    }
    for (size_t i = 0; i < labels->n_truths; i++) {
        faults += strcmp(labels->truths[i].kind, "corrected") != 0 ? 1 : 0;
    }
    for (size_t phase = 0; phase < routine->n_phases; phase++) {
        bool corrected = is_labelled(labels, "corrected", routine->phases[phase].id);
        if (mark->phases[phase].corrected != corrected) {
            print_error("%s %s: %s corrected: %d\n", labels->file, labels->junction,
                        routine->phases[phase].id, (int)mark->phases[phase].corrected);
            wrong++;
        }
    }
    if (mark->n_faults != faults) {
        print_error("%s %s: %zu faults marked, %zu labelled\n", labels->file, labels->junction,
                    mark->n_faults, faults);
        wrong++;
    }
    return wrong;
}

static size_t mark_labels(const char *path, const struct sl_routine *routine)
{
    struct corpus_labels labels = {0};
    struct corpus_scene scene = {0};
    struct sl_heard_list heard = {0};
    struct sl_mark mark = {0};
    assert_int_equal(corpus_labels_read(path, &labels, NULL), SL_OK);
    assert_int_equal(corpus_scene_load(labels.junction, routine, &scene, NULL), SL_OK);
    hear_perfectly(&labels, routine, &heard);
    struct sl_mark_options options = {.timed = labels.timed, .from_s = labels.from_s};
    const struct sl_task task = {routine, &scene.junction, &scene.plan, options};
    assert_int_equal(sl_mark_make(&task, &heard, &mark, NULL), SL_OK);
    size_t wrong = compare(&labels, &mark, routine);
    sl_mark_clear(&mark);
    sl_heard_clear(&heard);
    corpus_scene_clear(&scene);
    corpus_labels_clear(&labels);
    return wrong;
}

static size_t mark_run(const struct temp_folder *folder, size_t number,
                       const struct sl_routine *routine)
{
    char name[32];
    char path[TEMP_PATH_MAX];
    snprintf(name, sizeof name, "run-%04zu.labels", number);
    temp_folder_name(folder, name, path);
    return mark_labels(path, routine);
}

/* `talk`: the chance of hesitations and of false starts, and the share of other words. */
static void check_runs(bool timed, double talk)
{
    struct temp_folder folder = {{0}};
    assert_int_equal(temp_folder_make(&folder), 0);
    struct corpus_order order = {.folder = folder.path,
                                 .routine = "decide-last",
                                 .speakers = {.split = CORPUS_TUNE},
                                 .count = RUNS,
                                 .start = 7,
                                 .timed = timed,
                                 .most_faults = 2,
                                 .off_topic_chance = 0.15,
                                 .hesitation_chance = talk,
                                 .restart_chance = talk,
                                 .outside_share = talk,
                                 .book_share = 0.5};
    struct sl_error error = {0};
    if (corpus_runs_make(&order, &error) != SL_OK) {
        fail_msg("%s: %s", error.where == NULL ? "" : error.where, error.what);
    }
    struct sl_routine routine = {0};
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    size_t wrong = 0;
    for (size_t i = 0; i < RUNS; i++) {
        wrong += mark_run(&folder, i, &routine);
    }
    sl_routine_clear(&routine);
    temp_folder_remove(&folder);
    assert_int_equal(wrong, 0);
}

static void untimed_runs_heard_perfectly_are_marked_as_labelled(void **state)
{
    (void)state;
    check_runs(false, 0);
}

static void timed_runs_heard_perfectly_are_marked_as_labelled(void **state)
{
    (void)state;
    check_runs(true, 0);
}

static void hesitant_runs_heard_perfectly_are_marked_as_labelled(void **state)
{
    (void)state;
    check_runs(false, 0.3);
    check_runs(true, 0.3);
}

static void demo_recordings_heard_perfectly_are_marked_as_labelled(void **state)
{
    (void)state;
    struct sl_routine routine = {0};
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    const char **names = corpus_demo_names();
    assert_non_null(names);
    size_t wrong = 0;
    for (const char **name = names; *name != NULL; name++) {
        char *path = sl_strf("%s/audio/demo/%s.labels", SL_SOURCE_DIR, *name);
        assert_non_null(path);
        wrong += mark_labels(path, &routine);
        free(path);
    }
    free(names);
    sl_routine_clear(&routine);
    assert_int_equal(wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(untimed_runs_heard_perfectly_are_marked_as_labelled),
        cmocka_unit_test(demo_recordings_heard_perfectly_are_marked_as_labelled),
        cmocka_unit_test(hesitant_runs_heard_perfectly_are_marked_as_labelled),
        cmocka_unit_test(timed_runs_heard_perfectly_are_marked_as_labelled),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
