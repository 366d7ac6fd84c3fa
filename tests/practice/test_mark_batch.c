#include "practice/mark_batch.h"

#include "core/str.h"
#include "files/models.h"
#include "sound/sound_writer.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FILES 12

/* What a batch handed out. */
struct record {
    size_t files[FILES];
    bool marked[FILES];
    enum sl_status statuses[FILES];
    size_t faults[FILES];
    size_t n, stop_after;
};

struct scene {
    struct sl_junction junction;
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_task task;
    char *pronunciations;
    char folder[64];
    char *silence;
};

static bool note(void *user, size_t file, struct sl_attempt *attempt,
                 const struct sl_error *failure)
{
    struct record *record = user;
    assert_true((attempt == NULL) != (failure == NULL));
    record->files[record->n] = file;
    record->marked[record->n] = attempt != NULL;
    record->statuses[record->n] = failure == NULL ? SL_OK : failure->status;
    record->faults[record->n] = attempt == NULL ? 0 : attempt->mark.n_faults;
    record->n++;
    return record->n != record->stop_after;
}

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    static const int16_t nothing[16000];
    struct sl_sound_writer *writer = NULL;
    assert_int_equal(sl_load_junction("t-left-open", &scene->junction, NULL), SL_OK);
    assert_int_equal(sl_load_routine("decide-last", &scene->routine, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &scene->car, NULL), SL_OK);
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
    assert_int_equal(sl_models_path("pronunciations.dict", &scene->pronunciations, NULL), SL_OK);
    scene->task = (struct sl_task){.routine = &scene->routine,
                                   .junction = &scene->junction,
                                   .plan = &scene->plan,
                                   .options = {.timed = true}};
    strcpy(scene->folder, "/tmp/sayline-batch-XXXXXX");
    assert_non_null(mkdtemp(scene->folder));
    scene->silence = sl_strf("%s/silence.wav", scene->folder);
    assert_int_equal(sl_sound_create(scene->silence, 16000, &writer, NULL), SL_OK);
    assert_int_equal(sl_sound_write(writer, nothing, 16000, NULL), SL_OK);
    assert_int_equal(sl_sound_finish(writer, NULL), SL_OK);
    *state = scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    unlink(scene->silence);
    rmdir(scene->folder);
    free(scene->silence);
    free(scene->pronunciations);
    sl_junction_clear(&scene->junction);
    sl_routine_clear(&scene->routine);
    sl_car_clear(&scene->car);
    free(scene);
    return 0;
}

/* Every third file is missing. */
static void run(const struct scene *scene, int jobs, size_t stop_after, struct record *record)
{
    struct sl_batch_file files[FILES];
    for (size_t i = 0; i < FILES; i++) {
        files[i] = (struct sl_batch_file){
            .path = i % 3 == 2 ? "/nonexistent/none.wav" : scene->silence, .task = &scene->task};
    }
    struct sl_recogniser_paths paths = {.pronunciations = scene->pronunciations};
    struct sl_batch batch = {.paths = &paths,
                             .files = files,
                             .n_files = FILES,
                             .jobs = jobs,
                             .done = note,
                             .user = record};
    *record = (struct record){.stop_after = stop_after};
    assert_int_equal(sl_mark_batch(&batch, NULL), SL_OK);
}

static void results_come_in_the_order_of_the_files(void **state)
{
    static const int jobs[] = {1, 2, 5, SL_JOBS_MAX};
    for (size_t j = 0; j < sizeof jobs / sizeof *jobs; j++) {
        struct record record;
        run(*state, jobs[j], 0, &record);
        assert_int_equal(record.n, FILES);
        for (size_t i = 0; i < FILES; i++) {
            assert_int_equal(record.files[i], i);
            assert_int_equal(record.marked[i], i % 3 != 2);
            assert_int_equal(record.statuses[i], i % 3 != 2 ? SL_OK : SL_NOT_FOUND);
        }
    }
}

/* Files of two routines and one whose task could not be made. */
static void each_file_has_its_own_task(void **state)
{
    const struct scene *scene = *state;
    struct sl_error unknown = {.status = SL_INVALID};
    struct sl_routine other = {0};
    struct sl_task of_other = scene->task;
    struct sl_plan plan;
    assert_int_equal(sl_load_routine("position-look", &other, NULL), SL_OK);
    assert_int_equal(sl_plan_make(&scene->junction, &other, &scene->car, &plan, NULL), SL_OK);
    of_other.routine = &other;
    of_other.plan = &plan;
    const struct sl_batch_file files[] = {{.path = scene->silence, .failure = &unknown},
                                          {.path = scene->silence, .task = &scene->task},
                                          {.path = scene->silence, .task = &of_other},
                                          {.path = scene->silence, .task = &scene->task}};
    struct sl_recogniser_paths paths = {.pronunciations = scene->pronunciations};
    for (int jobs = 1; jobs <= 2; jobs++) {
        struct record record = {0};
        struct sl_batch batch = {.paths = &paths,
                                 .files = files,
                                 .n_files = 4,
                                 .jobs = jobs,
                                 .done = note,
                                 .user = &record};
        assert_int_equal(sl_mark_batch(&batch, NULL), SL_OK);
        assert_int_equal(record.n, 4);
        assert_int_equal(record.statuses[0], SL_INVALID);
        assert_true(record.marked[1] && record.marked[2] && record.marked[3]);
        assert_int_equal(record.faults[1], 5);
        assert_int_equal(record.faults[2], other.n_phases);
        assert_int_equal(record.faults[3], 5);
    }
    sl_routine_clear(&other);
}

static void a_batch_ends_when_it_is_told_to(void **state)
{
    struct record record;
    run(*state, 3, 4, &record);
    assert_int_equal(record.n, 4);
}

static void no_files_are_no_work(void **state)
{
    (void)state;
    struct sl_batch batch = {.jobs = 2, .done = note};
    assert_int_equal(sl_mark_batch(&batch, NULL), SL_OK);
}

static void missing_pronunciations_are_told_before_any_file(void **state)
{
    struct scene *scene = *state;
    struct record record = {0};
    const struct sl_batch_file files[] = {{.path = scene->silence, .task = &scene->task}};
    struct sl_recogniser_paths paths = {.pronunciations = "/nonexistent/none.dict"};
    struct sl_error error = {0};
    struct sl_batch batch = {
        .paths = &paths, .files = files, .n_files = 1, .jobs = 1, .done = note, .user = &record};
    assert_int_not_equal(sl_mark_batch(&batch, &error), SL_OK);
    assert_non_null(error.what);
    assert_int_equal(record.n, 0);
    sl_error_clear(&error);
}

static void an_announcement_after_the_end_is_refused(void **state)
{
    struct scene *scene = *state;
    static const struct {
        double from_s;
        enum sl_status status;
    } rows[] = {{0.0, SL_OK}, {0.9, SL_OK}, {1.0, SL_INVALID}, {60.0, SL_INVALID}};
    struct sl_recogniser_paths paths = {.pronunciations = scene->pronunciations};
    struct sl_marker marker = {0};
    assert_int_equal(sl_recogniser_new(&scene->routine, &paths, NULL, &marker.recogniser, NULL),
                     SL_OK);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_attempt attempt = {0};
        struct sl_task task = scene->task;
        task.options.from_s = rows[i].from_s;
        assert_int_equal(sl_mark_recording(&task, scene->silence, &marker, &attempt, NULL),
                         rows[i].status);
        if (rows[i].status == SL_OK) {
            assert_true((attempt.levels.notices & SL_NOTICE_SILENT) != 0);
            assert_int_equal(attempt.heard.count, 0);
            assert_int_equal(attempt.mark.n_faults, 5); /* nothing said: each phase is missed */
        }
        sl_attempt_clear(&attempt);
    }
    sl_recogniser_free(marker.recogniser);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(results_come_in_the_order_of_the_files, set_up, tear_down),
        cmocka_unit_test_setup_teardown(each_file_has_its_own_task, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_batch_ends_when_it_is_told_to, set_up, tear_down),
        cmocka_unit_test_setup_teardown(no_files_are_no_work, set_up, tear_down),
        cmocka_unit_test_setup_teardown(missing_pronunciations_are_told_before_any_file, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(an_announcement_after_the_end_is_refused, set_up,
                                        tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
