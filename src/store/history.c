/* Opening, adding and forgetting. */
#include "store/history_parts.h"

#include "core/str.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum sl_status sl_history_open(const char *path, struct sl_history **history,
                               struct sl_error *error)
{
    struct sl_history *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_db_open(path, &made->db, error);
    if (status != SL_OK) {
        free(made);
        return status;
    }
    *history = made;
    return SL_OK;
}

void sl_history_close(struct sl_history *history)
{
    if (history != NULL) {
        sl_db_close(&history->db);
        free(history);
    }
}

/* A statement with the learner's name as its only value, run to its first row. */
static enum sl_status find_learner(struct sl_history *history, const char *name, int64_t *id,
                                   struct sl_error *error)
{
    struct sl_statement statement = {0};
    bool row = false;
    enum sl_status status =
        sl_statement_open(&history->db, "SELECT id FROM learner WHERE name = ?", &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, name);
        status = sl_statement_step(&statement, &row, error);
    }
    if (status == SL_OK) {
        *id = row ? sl_column_whole(&statement) : 0;
    }
    sl_statement_close(&statement);
    return status;
}

/* Runs a statement whose only value is a text. */
static enum sl_status run_with(struct sl_history *history, const char *sql, const char *text,
                               struct sl_error *error)
{
    struct sl_statement statement = {0};
    enum sl_status status = sl_statement_open(&history->db, sql, &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, text);
        status = sl_statement_run(&statement, error);
    }
    sl_statement_close(&statement);
    return status;
}

enum sl_status sl_history_add_learner(struct sl_history *history, const char *name, int64_t *id,
                                      struct sl_error *error)
{
    enum sl_status status = run_with(
        history, "INSERT INTO learner (name) VALUES (?) ON CONFLICT DO NOTHING", name, error);
    return status == SL_OK ? find_learner(history, name, id, error) : status;
}

/* The run that holds the same recording, or 0. A rehearsal is the same when its file is, too: the
 * same recording can be the microphone twice. */
static enum sl_status find_recording(struct sl_history *history, int64_t learner,
                                     const struct sl_history_run *run, int64_t *id,
                                     struct sl_error *error)
{
    *id = 0;
    if (run->sha256 == NULL) {
        return SL_OK;
    }
    struct sl_statement statement = {0};
    bool row = false;
    enum sl_status status = sl_statement_open(
        &history->db,
        "SELECT id FROM run WHERE sha256 = ? AND learner = ? AND junction = ? AND routine = ?"
        " AND (? = 0 OR sound = ?)",
        &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, run->sha256);
        sl_put_whole(&statement, learner);
        sl_put_text(&statement, run->names.junction);
        sl_put_text(&statement, run->names.routine);
        sl_put_whole(&statement, run->rehearsed ? 1 : 0);
        sl_put_text(&statement, run->sound);
        status = sl_statement_step(&statement, &row, error);
    }
    if (status == SL_OK && row) {
        *id = sl_column_whole(&statement);
    }
    sl_statement_close(&statement);
    return status;
}

static enum sl_status insert_run(struct sl_history *history, int64_t learner,
                                 const struct sl_history_run *run, int64_t *id,
                                 struct sl_error *error)
{
    struct sl_statement statement = {0};
    enum sl_status status = sl_statement_open(
        &history->db,
        "INSERT INTO run (learner, at_s, rehearsed, junction, routine, car, kind, control, turn,"
        " view, prompting, sound, sha256, recorded_with, from_s, timed, hiding, marked_with,"
        " approach_mps, seed) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        &statement, error);
    if (status == SL_OK) {
        sl_put_whole(&statement, learner);
        sl_put_whole(&statement, run->at_s);
        sl_put_whole(&statement, run->rehearsed ? 1 : 0);
        sl_put_text(&statement, run->names.junction);
        sl_put_text(&statement, run->names.routine);
        sl_put_text(&statement, run->names.car);
        sl_put_text(&statement, sl_kind_word(run->junction->kind));
        sl_put_text(&statement, sl_control_word(run->junction->control));
        sl_put_text(&statement, sl_turn_word(run->junction->turn));
        sl_put_text(&statement, sl_view_word(run->plan->view));
        sl_put_text(&statement, run->prompting);
        sl_put_text(&statement, run->sound);
        sl_put_text(&statement, run->sha256);
        sl_put_text(&statement, run->recorded_with);
        sl_put_real(&statement, run->options->from_s);
        sl_put_whole(&statement, run->options->timed ? 1 : 0);
        sl_put_whole(&statement, (int64_t)run->options->hiding);
        sl_put_text(&statement, run->marked_with);
        sl_put_real(&statement, run->names.approach_mps > 0 ? run->names.approach_mps : NAN);
        if (run->names.driven) {
            sl_put_whole(&statement, (int64_t)run->names.seed);
        } else {
            sl_put_text(&statement, NULL);
        }
        status = sl_statement_run(&statement, error);
    }
    sl_statement_close(&statement);
    *id = sqlite3_last_insert_rowid(history->db.sql);
    return status;
}

/* Where the recording lies and how it was marked now. */
static enum sl_status update_run(struct sl_history *history, int64_t id,
                                 const struct sl_history_run *run, struct sl_error *error)
{
    struct sl_statement statement = {0};
    enum sl_status status = sl_statement_open(&history->db,
                                              "UPDATE run SET sound = ?, car = ?, approach_mps = "
                                              "?, from_s = ?, timed = ?, hiding = ? WHERE id = ?",
                                              &statement, error);
    if (status == SL_OK) {
        sl_put_text(&statement, run->sound);
        sl_put_text(&statement, run->names.car);
        sl_put_real(&statement, run->names.approach_mps > 0 ? run->names.approach_mps : NAN);
        sl_put_real(&statement, run->options->from_s);
        sl_put_whole(&statement, run->options->timed ? 1 : 0);
        sl_put_whole(&statement, (int64_t)run->options->hiding);
        sl_put_whole(&statement, id);
        status = sl_statement_run(&statement, error);
    }
    sl_statement_close(&statement);
    return status;
}

static enum sl_status insert_phrases(struct sl_history *history, int64_t id,
                                     const struct sl_history_run *run, struct sl_error *error)
{
    struct sl_statement statement = {0};
    enum sl_status status = sl_statement_open(
        &history->db,
        "INSERT OR REPLACE INTO phrase (run, n, phase, words, start_s, end_s, confidence, unclear,"
        " " SL_SETTINGS_COLUMNS ") VALUES (?, ?, ?, ?, ?, ?, ?, ?, " SL_SETTINGS_MARKS ")",
        &statement, error);
    bool failed = false;
    for (size_t i = 0; i < run->heard->count && status == SL_OK; i++) {
        const struct sl_heard *heard = &run->heard->items[i];
        char *mirrors = sl_mirrors_text(&heard->settings, &failed);
        sl_put_whole(&statement, id);
        sl_put_whole(&statement, (int64_t)i);
        sl_put_text(&statement, sl_phrase_word(run->routine, heard->phase));
        sl_put_text(&statement, heard->text);
        sl_put_real(&statement, heard->start_s);
        sl_put_real(&statement, heard->end_s);
        sl_put_real(&statement, heard->confidence);
        sl_put_whole(&statement, heard->unclear ? 1 : 0);
        sl_put_settings(&statement, &heard->settings, mirrors);
        status = failed ? sl_fail_memory(error) : sl_statement_run(&statement, error);
        free(mirrors);
    }
    sl_statement_close(&statement);
    return status;
}

static enum sl_status add_heard_and_mark(struct sl_history *history, int64_t id,
                                         const struct sl_history_run *run, struct sl_error *error)
{
    enum sl_status status = insert_phrases(history, id, run, error);
    return status == SL_OK ? sl_history_put_mark_in(history, id, run, error) : status;
}

static enum sl_status replace_run(struct sl_history *history, int64_t id,
                                  const struct sl_history_run *run, struct sl_error *error)
{
    char *delete = sl_strf("DELETE FROM phrase WHERE run = %lld", (long long)id);
    enum sl_status status =
        delete == NULL ? sl_fail_memory(error) : sl_db_run(&history->db, delete, error);
    free(delete);
    return status == SL_OK ? update_run(history, id, run, error) : status;
}

enum sl_status sl_history_add_run(struct sl_history *history, const struct sl_history_run *run,
                                  struct sl_error *error)
{
    int64_t learner = 0;
    int64_t id = 0;
    enum sl_status status = sl_db_begin(&history->db, error);
    if (status != SL_OK) {
        return status;
    }
    status = sl_history_add_learner(history, run->learner, &learner, error);
    if (status == SL_OK) {
        status = find_recording(history, learner, run, &id, error);
    }
    if (status == SL_OK) {
        status = id != 0 ? replace_run(history, id, run, error)
                         : insert_run(history, learner, run, &id, error);
    }
    if (status == SL_OK) {
        status = add_heard_and_mark(history, id, run, error);
    }
    return sl_db_end(&history->db, status, error);
}

enum sl_status sl_history_put_mark(struct sl_history *history, int64_t id,
                                   const struct sl_history_run *run, struct sl_error *error)
{
    enum sl_status status = sl_db_begin(&history->db, error);
    if (status != SL_OK) {
        return status;
    }
    return sl_db_end(&history->db, sl_history_put_mark_in(history, id, run, error), error);
}

enum sl_status sl_history_knows(struct sl_history *history, const char *learner, bool *known,
                                struct sl_error *error)
{
    int64_t id = 0;
    enum sl_status status = find_learner(history, learner, &id, error);
    if (status == SL_OK) {
        *known = id != 0;
    }
    return status;
}

/* Moves the log into the file and empties it. */
static enum sl_status empty_log(struct sl_history *history, struct sl_error *error)
{
    struct sl_statement statement = {0};
    bool row = false;
    enum sl_status status =
        sl_statement_open(&history->db, "PRAGMA wal_checkpoint(TRUNCATE)", &statement, error);
    if (status == SL_OK) {
        status = sl_statement_step(&statement, &row, error);
    }
    if (status == SL_OK && row && sl_column_whole(&statement) != 0) {
        status = sl_db_fail(&history->db, SQLITE_BUSY, error);
    }
    sl_statement_close(&statement);
    return status;
}

enum sl_status sl_history_forget(struct sl_history *history, const char *learner,
                                 struct sl_error *error)
{
    /* The rest of it goes with the learner. Deleted content is overwritten where it stood; the
     * file is made anew all the same, so that not even the gaps tell how much there was. */
    enum sl_status status = run_with(history, "DELETE FROM learner WHERE name = ?", learner, error);
    if (status == SL_OK) {
        status = empty_log(history, error);
    }
    if (status == SL_OK) {
        status = sl_db_run(&history->db, "VACUUM", error);
    }
    return status == SL_OK ? empty_log(history, error) : status;
}
