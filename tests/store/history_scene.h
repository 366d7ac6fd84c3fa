/*
 * A history in a folder of its own, and runs for it. Include after cmocka.h.
 */
#ifndef SL_TESTS_HISTORY_SCENE_H
#define SL_TESTS_HISTORY_SCENE_H

#include <sqlite3.h>

#include "store/history.h"
#include "support/marked_run.h"
#include "support/temp_folder.h"

struct scene {
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    struct sl_history *history;
};

static inline void scene_open(struct scene *scene)
{
    assert_int_equal(sl_history_open(scene->path, &scene->history, NULL), SL_OK);
}

static inline void scene_begin(struct scene *scene)
{
    assert_int_equal(temp_folder_make(&scene->folder), 0);
    temp_folder_name(&scene->folder, "history.sqlite", scene->path);
    scene_open(scene);
}

static inline void scene_end(struct scene *scene)
{
    sl_history_close(scene->history);
    temp_folder_remove(&scene->folder);
}

/* What a test wants to be different. */
struct told {
    const char *learner, *script;
    enum where where;
    bool recording; /* not rehearsed */
    const char *sha256, *sound;
    unsigned seed; /* not 0: it drove a car */
    const struct sl_settlements *settlements;
};

/* Adds a run that says the script. */
static inline enum sl_status scene_add(struct sl_history *history, const struct told *told)
{
    struct run run = mark(told->script, true, told->where);
    struct sl_heard_list heard = script_heard(&run.routine, told->script);
    const struct sl_mark_options options = {.timed = true};
    const struct sl_history_run added = {
        .learner = told->learner,
        .at_s = 1750000000,
        .rehearsed = !told->recording,
        .names = {.junction = "t-left-open",
                  .routine = "decide-last",
                  .car = "small-petrol",
                  .driven = told->seed > 0,
                  .seed = told->seed},
        .prompting = told->recording ? NULL : "partial",
        .sound = told->sound,
        .sha256 = told->sha256,
        .recorded_with = "0.1.0",
        .marked_with = "0.1.0",
        .routine = &run.routine,
        .junction = &run.junction,
        .plan = &run.plan,
        .options = &options,
        .heard = &heard,
        .mark = &run.mark,
        .settlements = told->settlements,
    };
    enum sl_status status = sl_history_add_run(history, &added, NULL);
    sl_heard_clear(&heard);
    end_run(&run);
    return status;
}

static inline void add(struct scene *scene, struct told told)
{
    assert_int_equal(scene_add(scene->history, &told), SL_OK);
}

/* The number that a query gives, asked on a connection of its own. */
static inline int query_number(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *statement = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &statement, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
    int number = sqlite3_column_int(statement, 0);
    sqlite3_finalize(statement);
    sqlite3_close(db);
    return number;
}

/* Runs SQL on a connection of its own. */
static inline void query_run(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    char *wrong = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &wrong) != SQLITE_OK) {
        fail_msg("%s", wrong);
    }
    sqlite3_close(db);
}

static inline bool is_intact(const char *path)
{
    return query_number(path, "SELECT count(*) = 1 AND max(integrity_check) = 'ok'"
                              " FROM pragma_integrity_check") == 1 &&
           query_number(path, "SELECT count(*) FROM pragma_foreign_key_check") == 0;
}

#endif
