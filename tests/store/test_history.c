#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <sys/stat.h>

#include "store/history_scene.h"
#include "support/near.h"

#define LATE "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22; decide go @25"

static void what_was_heard_comes_back_as_it_was(void **state)
{
    (void)state;
    static const char script[] =
        "um @1; mirrors interior left @4; ?signal left @8; no @9; speed 10 "
        "@12; gear 2 up @16; decide go @24";
    struct scene scene;
    scene_begin(&scene);
    add(&scene, (struct told){.learner = "Ana", .script = script});
    struct sl_history_kept *kept = NULL;
    size_t n = 0;
    assert_int_equal(sl_history_list(scene.history, "Ana", &kept, &n, NULL), SL_OK);
    assert_int_equal(n, 1);
    assert_string_equal(kept[0].junction, "t-left-open");
    assert_string_equal(kept[0].faults, "signal unclear");
    assert_true(kept[0].options.timed);
    struct sl_routine routine = fixture_routine();
    struct sl_heard_list wanted = script_heard(&routine, script);
    struct sl_heard_list got = {0};
    assert_int_equal(sl_history_heard(scene.history, kept[0].id, &routine, &got, NULL), SL_OK);
    assert_int_equal(got.count, wanted.count);
    for (size_t i = 0; i < got.count; i++) {
        assert_int_equal(got.items[i].phase, wanted.items[i].phase);
        assert_string_equal(got.items[i].text, wanted.items[i].text);
        assert_true(sl_settings_equal(&got.items[i].settings, &wanted.items[i].settings));
        assert_true(got.items[i].start_s == wanted.items[i].start_s);
        assert_true(got.items[i].end_s == wanted.items[i].end_s);
        assert_true(got.items[i].confidence == wanted.items[i].confidence);
        assert_true(got.items[i].unclear == wanted.items[i].unclear);
    }
    sl_heard_clear(&got);
    sl_heard_clear(&wanted);
    sl_routine_clear(&routine);
    sl_history_kept_clear(&kept[0]);
    free(kept);
    scene_end(&scene);
}

static struct sl_progress_run *runs_of(struct scene *scene, const char *learner, size_t *n)
{
    struct sl_routine routine = fixture_routine();
    struct sl_progress_run *runs = NULL;
    const struct sl_history_of of = {learner, "decide-last", &routine};
    assert_int_equal(sl_history_runs(scene->history, &of, &runs, n, NULL), SL_OK);
    sl_routine_clear(&routine);
    return runs;
}

static void runs_come_back_for_progress_by_learner(void **state)
{
    (void)state;
    struct scene scene;
    size_t n = 0;
    scene_begin(&scene);
    add(&scene, (struct told){.learner = "Ana", .script = CLEAN});
    add(&scene, (struct told){.learner = "Ben", .script = ""});
    add(&scene,
        (struct told){.learner = "Ana", .script = LATE, .where = CLOSED, .recording = true});
    add(&scene, (struct told){.learner = "Cai", .script = CLEAN, .seed = 7});
    struct sl_progress_run *runs = runs_of(&scene, "Cai", &n);
    assert_int_equal(n, 1);
    assert_true(runs[0].driven);
    free(runs);
    runs = runs_of(&scene, "Ana", &n);
    assert_int_equal(n, 2);
    assert_false(runs[0].driven || runs[1].driven);
    assert_int_equal(runs[0].prompting, SL_PROMPTING_PARTIAL);
    assert_int_equal(runs[1].prompting, SL_PROMPTING_COUNT);
    assert_int_equal(runs[1].view, SL_VIEW_CLOSED);
    assert_int_equal(runs[0].kind, SL_KIND_T);
    assert_int_equal(runs[0].steps[GEAR].kinds, 0);
    assert_true((runs[1].steps[GEAR].kinds & 1U << SL_FAULT_LATE) != 0);
    struct sl_plan plan = fixture_plan();
    assert_near(runs[0].steps[GEAR].after_due_s, 16 - plan.windows[GEAR].due_s, 1e-9);
    assert_near(runs[0].rolling_s, 11, 1e-9);
    free(runs);
    runs = runs_of(&scene, "Ben", &n);
    assert_int_equal(n, 1);
    assert_true(isnan(runs[0].rolling_s) && isnan(runs[0].steps[SIGNAL].after_due_s));
    assert_int_equal(runs[0].steps[SIGNAL].kinds, 1U << SL_FAULT_MISSED);
    free(runs);
    runs = runs_of(&scene, "Cem", &n);
    assert_int_equal(n, 0);
    free(runs);
    scene_end(&scene);
}

static void a_recording_marked_again_is_not_counted_twice(void **state)
{
    (void)state;
    struct scene scene;
    size_t n = 0;
    struct told told = {.learner = "Ana", .script = CLEAN, .sha256 = "00ff", .recording = true};
    scene_begin(&scene);
    add(&scene, told);
    told.script = LATE;
    add(&scene, told);
    struct sl_progress_run *runs = runs_of(&scene, "Ana", &n);
    assert_int_equal(n, 1);
    assert_true((runs[0].steps[GEAR].kinds & 1U << SL_FAULT_LATE) != 0);
    free(runs);
    told.learner = "Ben";
    add(&scene, told);
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM run"), 2);
    /* Two rehearsals are two, even if they sound the same. */
    told.recording = false;
    add(&scene, told);
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM run"), 3);
    scene_end(&scene);
}

static void a_mark_can_be_put_in_the_place_of_another(void **state)
{
    (void)state;
    struct scene scene;
    size_t n = 0;
    scene_begin(&scene);
    add(&scene, (struct told){.learner = "Ana", .script = LATE});
    struct run run = mark(CLEAN, true, T_LEFT);
    const struct sl_history_run anew = {
        .marked_with = "0.2.0", .routine = &run.routine, .plan = &run.plan, .mark = &run.mark};
    assert_int_equal(sl_history_put_mark(scene.history, 1, &anew, NULL), SL_OK);
    end_run(&run);
    struct sl_progress_run *runs = runs_of(&scene, "Ana", &n);
    assert_int_equal(n, 1);
    assert_int_equal(runs[0].steps[GEAR].kinds, 0);
    free(runs);
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM phase"), 5);
    assert_int_equal(query_number(scene.path, "SELECT marked_with = '0.2.0' FROM run"), 1);
    scene_end(&scene);
}

static void what_was_settled_comes_back(void **state)
{
    (void)state;
    struct sl_settlements settled = {0};
    struct sl_settlements got = {0};
    struct scene scene;
    struct sl_routine routine = fixture_routine();
    settled.phases[GEAR] = (struct sl_settlement){SL_SETTLED_RIGHT, 16.25};
    settled.phases[SIGNAL] = (struct sl_settlement){SL_SETTLED_MISSED, NAN};
    scene_begin(&scene);
    add(&scene, (struct told){.learner = "Ana", .script = CLEAN, .settlements = &settled});
    assert_int_equal(sl_history_settled(scene.history, 1, &routine, &got, NULL), SL_OK);
    assert_int_equal(got.phases[GEAR].as, SL_SETTLED_RIGHT);
    assert_near(got.phases[GEAR].at_s, 16.25, 1e-12);
    assert_int_equal(got.phases[SIGNAL].as, SL_SETTLED_MISSED);
    assert_true(isnan(got.phases[SIGNAL].at_s));
    assert_int_equal(got.phases[MIRRORS].as, SL_SETTLED_NOT);
    sl_routine_clear(&routine);
    scene_end(&scene);
}

static void answers_are_counted_without_unclear_ones(void **state)
{
    (void)state;
    static const enum sl_recalled given[] = {SL_RECALLED_WRONG, SL_RECALLED_SLOW,
                                             SL_RECALLED_UNCLEAR, SL_RECALLED_QUICK};
    struct sl_question question = {.id = "scene/hedge"};
    struct sl_reply reply = {.view_said = true, .view = SL_VIEW_CLOSED};
    struct scene scene;
    scene_begin(&scene);
    for (size_t i = 0; i < 4; i++) {
        struct sl_recall_told told = {.question = &question,
                                      .reply = &reply,
                                      .verdict = {.right = SL_PART_VIEW, .recalled = given[i]}};
        const struct sl_history_answer answer = {
            .learner = "Ana", .at_s = 1, .told = &told, .marked_with = "0.1.0"};
        assert_int_equal(sl_history_add_answer(scene.history, &answer, NULL), SL_OK);
    }
    struct sl_course course = {0};
    assert_int_equal(sl_history_recalled(scene.history, "Ana", &course, NULL), SL_OK);
    assert_int_equal(course.lately.of, 3);
    assert_int_equal(course.lately.hits, 2);
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM recall WHERE right = 'view'"
                                              " AND view = 'closed' AND mirrors IS NULL"),
                     4);
    scene_end(&scene);
}

/* The bytes of every file in the folder: whether a text is in them. */
static bool is_left(const struct scene *scene, const char *text)
{
    char command[400];
    snprintf(command, sizeof command, "grep -q -a -r '%s' %s", text, scene->folder.path);
    return system(command) == 0; // NOLINT(cert-env33-c): a test, with a folder of its own
}

static void nothing_of_who_is_forgotten_is_left_in_the_files(void **state)
{
    (void)state;
    struct scene scene;
    bool known = true;
    scene_begin(&scene);
    for (size_t i = 0; i < 50; i++) {
        add(&scene, (struct told){.learner = "Wilhelmina",
                                  .script = "signal right @8; decide go @24",
                                  .sound = "/home/quite-a-path.flac"});
        add(&scene, (struct told){.learner = "Ben", .script = "mirrors interior @4"});
    }
    assert_true(is_left(&scene, "Wilhelmina") && is_left(&scene, "quite-a-path"));
    char **sounds = NULL;
    size_t n = 0;
    assert_int_equal(sl_history_sounds(scene.history, "Wilhelmina", &sounds, &n, NULL), SL_OK);
    assert_int_equal(n, 1);
    assert_string_equal(sounds[0], "/home/quite-a-path.flac");
    free(sounds[0]);
    free(sounds);
    assert_int_equal(sl_history_forget(scene.history, "Wilhelmina", NULL), SL_OK);
    /* The history is still open: nothing waits for its end. */
    assert_false(is_left(&scene, "Wilhelmina"));
    assert_false(is_left(&scene, "quite-a-path"));
    assert_false(is_left(&scene, "signal right"));
    assert_true(is_left(&scene, "mirrors interior"));
    assert_int_equal(sl_history_knows(scene.history, "Wilhelmina", &known, NULL), SL_OK);
    assert_false(known);
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM run"), 50);
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM phrase"), 50);
    assert_int_equal(sl_history_forget(scene.history, "Nobody", NULL), SL_OK);
    assert_true(is_intact(scene.path));
    scene_end(&scene);
}

static bool count_row(void *user, const struct sl_row *row)
{
    size_t *n = user;
    *n += row->n_values > 0 ? 1 : 0;
    return true;
}

static bool check_columns(void *user, const struct sl_row *row)
{
    (void)user;
    for (size_t i = 0; i < row->n_values; i++) {
        assert_non_null(row->values[i].column);
    }
    return true;
}

static void tables_are_read_by_learner_or_whole(void **state)
{
    (void)state;
    static const size_t wanted[][2] = {{1, 2}, {2, 7}, {5, 10}, {3, 3}, {0, 0}}; /* Ben, all */
    struct scene scene;
    scene_begin(&scene);
    add(&scene, (struct told){.learner = "Ana", .script = CLEAN});
    add(&scene,
        (struct told){.learner = "Ben", .script = "mirrors interior left @4; signal left @8"});
    for (size_t i = 0; sl_history_tables[i] != NULL; i++) {
        for (size_t all = 0; all < 2; all++) {
            size_t n = 0;
            const struct sl_history_reader reader = {.table = sl_history_tables[i],
                                                     .learner = all == 1 ? NULL : "Ben",
                                                     .columns = check_columns,
                                                     .take = count_row,
                                                     .user = &n};
            assert_int_equal(sl_history_read(scene.history, &reader, NULL), SL_OK);
            assert_int_equal(n, wanted[i][all]);
        }
    }
    const struct sl_history_reader none = {.table = "learner"};
    assert_int_equal(sl_history_read(scene.history, &none, NULL), SL_INVALID);
    scene_end(&scene);
}

static void only_the_user_may_read_it(void **state)
{
    (void)state;
    struct scene scene;
    scene_begin(&scene);
    add(&scene, (struct told){.learner = "Ana", .script = CLEAN});
    static const char *const names[] = {"history.sqlite", "history.sqlite-wal"};
    for (size_t i = 0; i < 2; i++) {
        char path[TEMP_PATH_MAX];
        struct stat found;
        temp_folder_name(&scene.folder, names[i], path);
        assert_int_equal(stat(path, &found), 0);
        assert_int_equal(found.st_mode & 0777, 0600);
    }
    scene_end(&scene);
}

/* Two programs at once: neither fails, nothing is lost. */
static void two_connections_take_turns(void **state)
{
    (void)state;
    struct scene scene;
    struct sl_history *other = NULL;
    scene_begin(&scene);
    assert_int_equal(sl_history_open(scene.path, &other, NULL), SL_OK);
    for (size_t i = 0; i < 10; i++) {
        const struct told told = {.learner = "Ana", .script = CLEAN};
        assert_int_equal(scene_add(scene.history, &told), SL_OK);
        assert_int_equal(scene_add(other, &told), SL_OK);
    }
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM run"), 20);
    sl_history_close(other);
    scene_end(&scene);
}

/* Who else was there belongs to what it is marked against. */
static void a_drive_keeps_who_was_there(void **state)
{
    (void)state;
    struct scene scene;
    struct sl_history_kept *kept = NULL;
    size_t n = 0;
    scene_begin(&scene);
    add(&scene, (struct told){.learner = "Ana", .script = CLEAN});
    add(&scene, (struct told){.learner = "Ana", .script = CLEAN, .seed = 4294967295U});
    assert_int_equal(sl_history_list(scene.history, "Ana", &kept, &n, NULL), SL_OK);
    assert_int_equal(n, 2);
    assert_false(kept[0].driven);
    assert_true(kept[1].driven && kept[1].seed == 4294967295U);
    for (size_t i = 0; i < n; i++) {
        sl_history_kept_clear(&kept[i]);
    }
    free(kept);
    scene_end(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_heard_comes_back_as_it_was),
        cmocka_unit_test(runs_come_back_for_progress_by_learner),
        cmocka_unit_test(a_recording_marked_again_is_not_counted_twice),
        cmocka_unit_test(a_mark_can_be_put_in_the_place_of_another),
        cmocka_unit_test(what_was_settled_comes_back),
        cmocka_unit_test(answers_are_counted_without_unclear_ones),
        cmocka_unit_test(nothing_of_who_is_forgotten_is_left_in_the_files),
        cmocka_unit_test(tables_are_read_by_learner_or_whole),
        cmocka_unit_test(only_the_user_may_read_it),
        cmocka_unit_test(two_connections_take_turns),
        cmocka_unit_test(a_drive_keeps_who_was_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
