/* Tables for exports: flat, in units for people, tied together by the number of the run. */
#include "store/history_parts.h"

#include <string.h>

#define SETTINGS_OUT                                                                               \
    "mirrors, signal, round(speed_mps / 0.44704, 3) AS speed_mph, gear, clutch, decision, "        \
    "position"
#define FOR_LEARNER " WHERE ?1 IS NULL OR learner.name = ?1"

const char *const sl_history_tables[] = {"runs", "phrases", "phases", "faults", "answers", NULL};

static const char *const queries[] = {
    "SELECT run.id AS run, learner.name AS learner,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', at_s, 'unixepoch') AS at, rehearsed, junction, kind, control,"
    " turn, view, routine, car, round(approach_mps / 0.44704, 3) AS approach_mph, prompting, "
    "seed, sound, sha256, recorded_with, from_s, timed, hiding,"
    " marked_with, score_overall, score_order, score_completeness, score_settings, score_timing,"
    " rolling_s, next FROM run JOIN learner ON learner.id = run.learner" FOR_LEARNER
    " ORDER BY run.id",
    "SELECT run, n, phase, words, start_s, end_s, confidence, unclear, " SETTINGS_OUT
    " FROM run JOIN phrase ON phrase.run = run.id"
    " JOIN learner ON learner.id = run.learner" FOR_LEARNER " ORDER BY run, n",
    "SELECT run, n, phase, heard, unclear, phase.at_s, end_s, opens_s, due_s, closes_s,"
    " corrected, settled, settled_at_s, " SETTINGS_OUT " FROM run JOIN phase ON phase.run = run.id"
    " JOIN learner ON learner.id = run.learner" FOR_LEARNER " ORDER BY run, n",
    "SELECT run, n, phase, fault.kind, fault.at_s, due_s, rule, what, reason"
    " FROM run JOIN fault ON fault.run = run.id"
    " JOIN learner ON learner.id = run.learner" FOR_LEARNER " ORDER BY run, n",
    "SELECT recall.id AS answer, learner.name AS learner,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', at_s, 'unixepoch') AS at, question, heard, gave_up,"
    " view, " SETTINGS_OUT ", right, wrong, unsaid, unclear, recalled, after_s, marked_with"
    " FROM recall JOIN learner ON learner.id = recall.learner" FOR_LEARNER " ORDER BY recall.id",
};

static void name_columns(struct sl_statement *statement, struct sl_value *values, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        values[i] = (struct sl_value){.column = sqlite3_column_name(statement->sql, (int)i)};
    }
}

static void take_values(struct sl_statement *statement, struct sl_value *values, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        int column = (int)i;
        struct sl_value *value = &values[i];
        switch (sqlite3_column_type(statement->sql, column)) {
        case SQLITE_INTEGER:
            value->kind = SL_VALUE_WHOLE;
            value->whole = sqlite3_column_int64(statement->sql, column);
            break;
        case SQLITE_FLOAT:
            value->kind = SL_VALUE_REAL;
            value->real = sqlite3_column_double(statement->sql, column);
            break;
        case SQLITE_TEXT:
            value->kind = SL_VALUE_TEXT;
            value->text = (const char *)sqlite3_column_text(statement->sql, column);
            break;
        default:
            value->kind = SL_VALUE_NONE;
        }
    }
}

static enum sl_status read_rows(struct sl_statement *statement,
                                const struct sl_history_reader *reader, struct sl_error *error)
{
    struct sl_value values[SL_HISTORY_COLUMNS_MAX];
    struct sl_row taken = {.values = values,
                           .n_values = (size_t)sqlite3_column_count(statement->sql)};
    bool row = false;
    name_columns(statement, values, taken.n_values);
    bool go_on = reader->columns(reader->user, &taken);
    sl_put_text(statement, reader->learner);
    enum sl_status status = go_on ? sl_statement_step(statement, &row, error) : SL_OK;
    while (status == SL_OK && row) {
        take_values(statement, values, taken.n_values);
        if (!reader->take(reader->user, &taken)) {
            break;
        }
        status = sl_statement_step(statement, &row, error);
    }
    return status;
}

enum sl_status sl_history_read(struct sl_history *history, const struct sl_history_reader *reader,
                               struct sl_error *error)
{
    struct sl_statement statement = {0};
    size_t table = 0;
    while (sl_history_tables[table] != NULL &&
           strcmp(sl_history_tables[table], reader->table) != 0) {
        table++;
    }
    if (sl_history_tables[table] == NULL) {
        return sl_fail(error, SL_INVALID, reader->table, NULL, "the history has no such table");
    }
    enum sl_status status = sl_statement_open(&history->db, queries[table], &statement, error);
    if (status == SL_OK) {
        status = read_rows(&statement, reader, error);
    }
    sl_statement_close(&statement);
    return status;
}
