/* Files of earlier and later versions, and what is no history. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <sys/stat.h>

#include "store/history_scene.h"

/* Version 1 as it was released, with a run in it; written down here, so that it stays as it was
 * whatever becomes of the program's own list. */
static const char version_1[] =
    "PRAGMA application_id = 1935767916; PRAGMA user_version = 1;"
    "CREATE TABLE learner (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;"
    "CREATE TABLE run (id INTEGER PRIMARY KEY, learner INTEGER NOT NULL REFERENCES learner ON "
    "DELETE CASCADE, at_s INTEGER NOT NULL, rehearsed INTEGER NOT NULL, junction TEXT NOT NULL, "
    "routine TEXT NOT NULL, car TEXT NOT NULL, approach_mps REAL, kind TEXT NOT NULL, control TEXT "
    "NOT NULL, turn "
    "TEXT NOT NULL, view TEXT NOT NULL, prompting TEXT, sound TEXT, sha256 TEXT, recorded_with "
    "TEXT, from_s REAL NOT NULL, timed INTEGER NOT NULL, hiding INTEGER NOT NULL, marked_with TEXT "
    "NOT NULL, score_order REAL, score_completeness REAL, score_settings REAL, score_timing REAL, "
    "score_overall REAL, rolling_s REAL, next TEXT) STRICT;"
    "CREATE INDEX run_by_learner ON run (learner, routine);"
    "CREATE INDEX run_by_sound ON run (sha256);"
    "CREATE TABLE phrase (run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, n INTEGER NOT "
    "NULL, phase TEXT NOT NULL, words TEXT NOT NULL, start_s REAL NOT NULL, end_s REAL NOT NULL, "
    "confidence REAL NOT NULL, unclear INTEGER NOT NULL, mirrors TEXT, signal TEXT, speed_mps "
    "REAL, gear INTEGER, clutch TEXT, decision TEXT, position TEXT, PRIMARY KEY (run, n)) STRICT, "
    "WITHOUT ROWID;"
    "CREATE TABLE phase (run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, n INTEGER NOT "
    "NULL, phase TEXT NOT NULL, heard INTEGER NOT NULL, unclear INTEGER NOT NULL, at_s REAL, end_s "
    "REAL, opens_s REAL, due_s REAL, closes_s REAL, corrected INTEGER NOT NULL, settled TEXT, "
    "settled_at_s REAL, mirrors TEXT, "
    "signal TEXT, speed_mps REAL, gear INTEGER, clutch TEXT, decision TEXT, position TEXT, PRIMARY "
    "KEY (run, n)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE fault (run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, n INTEGER NOT "
    "NULL, phase TEXT NOT NULL, kind TEXT NOT NULL, at_s REAL, due_s REAL, rule TEXT NOT NULL, "
    "what "
    "TEXT NOT NULL, reason TEXT NOT NULL, PRIMARY KEY (run, n)) STRICT, WITHOUT ROWID;"
    "INSERT INTO learner VALUES (7, 'Ana');"
    "INSERT INTO run (id, learner, at_s, rehearsed, junction, routine, car, kind, control, turn, "
    "view, from_s, timed, hiding, marked_with) VALUES (1, 7, 5, 1, 't-left-open', 'decide-last', "
    "'small-petrol', 't', 'give-way', 'left', 'open', 0, 1, 0, '0.1.0');"
    "INSERT INTO phrase VALUES (1, 0, 'gear', 'second gear', 1, 2, 0.5, 0, NULL, NULL, NULL, 2, "
    "NULL, NULL, NULL);";

static void scene_path(struct scene *scene)
{
    assert_int_equal(temp_folder_make(&scene->folder), 0);
    temp_folder_name(&scene->folder, "history.sqlite", scene->path);
}

static void version_1_is_brought_forward_with_what_it_holds(void **state)
{
    (void)state;
    struct scene scene;
    scene_path(&scene);
    query_run(scene.path, version_1);
    scene_open(&scene);
    assert_int_equal(query_number(scene.path, "PRAGMA user_version"), 3);
    assert_int_equal(query_number(scene.path, "SELECT count(seed) FROM run"), 0);
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM recall"), 0);
    assert_int_equal(query_number(scene.path, "SELECT at_s FROM run WHERE learner = 7"), 5);
    add(&scene, (struct told){.learner = "Ana", .script = CLEAN});
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM run WHERE learner = 7"), 2);
    assert_true(is_intact(scene.path));
    scene_end(&scene);
}

/* A history made anew and one brought forward hold the same tables. */
static void the_steps_end_in_one_schema(void **state)
{
    (void)state;
    struct scene scene;
    char other[TEMP_PATH_MAX];
    scene_begin(&scene);
    sl_history_close(scene.history);
    temp_folder_name(&scene.folder, "other.sqlite", other);
    query_run(other, version_1);
    assert_int_equal(sl_history_open(other, &scene.history, NULL), SL_OK);
    char *sql = sl_strf("ATTACH '%s' AS other; CREATE TEMP TABLE t AS SELECT type, name, tbl_name"
                        " FROM main.sqlite_schema EXCEPT SELECT type, name, tbl_name FROM"
                        " other.sqlite_schema; CREATE TEMP TABLE c (n INTEGER CHECK (n = 0));"
                        " INSERT INTO c SELECT count(*) FROM t",
                        other);
    query_run(scene.path, sql);
    free(sql);
    scene_end(&scene);
}

static void check_refused(struct scene *scene, enum sl_status wanted, const char *what)
{
    struct sl_error error = {0};
    assert_int_equal(sl_history_open(scene->path, &scene->history, &error), wanted);
    assert_non_null(strstr(error.what, what));
    assert_string_equal(error.where, scene->path);
    assert_non_null(error.mend);
    sl_error_clear(&error);
}

static void a_later_version_is_refused_and_left_alone(void **state)
{
    (void)state;
    struct scene scene;
    scene_begin(&scene);
    sl_history_close(scene.history);
    scene.history = NULL;
    query_run(scene.path, "PRAGMA user_version = 4");
    check_refused(&scene, SL_UNSUPPORTED, "a later version of sayline");
    assert_int_equal(query_number(scene.path, "PRAGMA user_version"), 4);
    scene_end(&scene);
}

static void another_programs_database_is_refused_and_left_alone(void **state)
{
    (void)state;
    struct scene scene = {.history = NULL};
    scene_path(&scene);
    query_run(scene.path, "CREATE TABLE stamps (colour TEXT)");
    check_refused(&scene, SL_FORMAT, "not a history");
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM sqlite_schema"), 1);
    scene_end(&scene);
}

static void a_file_that_is_no_database_is_refused_and_left_alone(void **state)
{
    (void)state;
    static const char text[] = "Dear diary, today I turned left. It was a closed junction, and I "
                               "said so. Tomorrow I shall turn right, and nobody will stop me.";
    struct scene scene = {.history = NULL};
    struct stat found;
    scene_path(&scene);
    FILE *file = fopen(scene.path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
    check_refused(&scene, SL_FORMAT, "not a history");
    assert_int_equal(stat(scene.path, &found), 0);
    assert_int_equal(found.st_size, sizeof text - 1);
    scene_end(&scene);
}

static void a_folder_that_does_not_exist_is_said(void **state)
{
    (void)state;
    struct sl_history *history = NULL;
    assert_int_equal(sl_history_open("/nonexistent/history.sqlite", &history, NULL), SL_IO);
    assert_null(history);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(version_1_is_brought_forward_with_what_it_holds),
        cmocka_unit_test(the_steps_end_in_one_schema),
        cmocka_unit_test(a_later_version_is_refused_and_left_alone),
        cmocka_unit_test(another_programs_database_is_refused_and_left_alone),
        cmocka_unit_test(a_file_that_is_no_database_is_refused_and_left_alone),
        cmocka_unit_test(a_folder_that_does_not_exist_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
