#include "store/db.h"

#include "core/str.h"
#include "store/schema.h"

#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#define WAIT_MS 10000
#define ONLY_THE_USER 0600

enum sl_status sl_db_fail(struct sl_db *db, int result, struct sl_error *error)
{
    switch (result & 0xff) {
    case SQLITE_NOMEM:
        return sl_fail_memory(error);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
        return sl_fail(error, SL_FORMAT, db->path,
                       "move the file away to begin a new history; it was not changed",
                       "this is not a history, or it is damaged: %s", sqlite3_errstr(result));
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return sl_fail(error, SL_IO, db->path, "wait for the other sayline to end, then try again",
                       "another program is using the history");
    default:
        return sl_fail(error, SL_IO, db->path,
                       "check the folder, its permissions and the free space",
                       "the history cannot be used: %s",
                       db->sql == NULL ? sqlite3_errstr(result) : sqlite3_errmsg(db->sql));
    }
}

enum sl_status sl_db_run(struct sl_db *db, const char *sql, struct sl_error *error)
{
    int result = sqlite3_exec(db->sql, sql, NULL, NULL, NULL);
    return result == SQLITE_OK ? SL_OK : sl_db_fail(db, result, error);
}

enum sl_status sl_db_begin(struct sl_db *db, struct sl_error *error)
{
    return sl_db_run(db, "BEGIN IMMEDIATE", error);
}

enum sl_status sl_db_end(struct sl_db *db, enum sl_status status, struct sl_error *error)
{
    if (status == SL_OK) {
        status = sl_db_run(db, "COMMIT", error);
    }
    if (status != SL_OK) {
        (void)sqlite3_exec(db->sql, "ROLLBACK", NULL, NULL, NULL);
    }
    return status;
}

/* The number that a statement of one row and column gives. */
static enum sl_status read_number(struct sl_db *db, const char *sql, int64_t *number,
                                  struct sl_error *error)
{
    struct sl_statement statement = {0};
    bool row = false;
    enum sl_status status = sl_statement_open(db, sql, &statement, error);
    if (status == SL_OK) {
        status = sl_statement_step(&statement, &row, error);
    }
    if (status == SL_OK) {
        *number = row ? sl_column_whole(&statement) : 0;
    }
    sl_statement_close(&statement);
    return status;
}

/* The version of the schema; 0 for a new file. Refuses what is not ours. */
static enum sl_status read_version(struct sl_db *db, int64_t *version, struct sl_error *error)
{
    int64_t application = 0;
    int64_t tables = 0;
    enum sl_status status = read_number(db, "PRAGMA application_id", &application, error);
    if (status == SL_OK) {
        status = read_number(db, "PRAGMA user_version", version, error);
    }
    if (status == SL_OK) {
        status = read_number(db, "SELECT count(*) FROM sqlite_schema", &tables, error);
    }
    if (status == SL_OK && application != SL_SCHEMA_APPLICATION && tables > 0) {
        status = sl_fail(error, SL_FORMAT, db->path, "move the file away to begin a new history",
                         "this is a database, but not a history of sayline");
    }
    if (status == SL_OK && *version > sl_schema_version) {
        status = sl_fail(error, SL_UNSUPPORTED, db->path, "use the later program",
                         "the history was written by a later version of sayline");
    }
    return status;
}

/* All steps that are missing, in one transaction: another program may be at it, too. */
static enum sl_status migrate(struct sl_db *db, struct sl_error *error)
{
    int64_t version = 0;
    enum sl_status status = sl_db_begin(db, error);
    if (status != SL_OK) {
        return status;
    }
    status = read_version(db, &version, error);
    for (; status == SL_OK && version < sl_schema_version; version++) {
        status = sl_db_run(db, sl_schema_steps[version], error);
    }
    if (status == SL_OK) {
        char *noted = sl_strf("PRAGMA application_id = %d; PRAGMA user_version = %d",
                              SL_SCHEMA_APPLICATION, sl_schema_version);
        status = noted == NULL ? sl_fail_memory(error) : sl_db_run(db, noted, error);
        free(noted);
    }
    return sl_db_end(db, status, error);
}

/* SQLite gives a new file the usual permissions, so it finds one made before; WAL and index take
 * those of the database. */
static void make_private(const char *path)
{
    int file = open(path, O_RDWR | O_CREAT | O_CLOEXEC, ONLY_THE_USER);
    if (file >= 0) {
        (void)close(file);
    }
}

enum sl_status sl_db_open(const char *path, struct sl_db *db, struct sl_error *error)
{
    struct sl_db made = {.path = sl_strdup(path)};
    int64_t version = 0;
    if (made.path == NULL) {
        return sl_fail_memory(error);
    }
    make_private(path);
    enum sl_status status = SL_OK;
    int result = sqlite3_open_v2(path, &made.sql, SQLITE_OPEN_READWRITE, NULL);
    if (result == SQLITE_OK) {
        result = sqlite3_busy_timeout(made.sql, WAIT_MS);
    }
    if (result != SQLITE_OK) {
        status = sl_db_fail(&made, result, error);
    }
    if (status == SL_OK) {
        status = read_version(&made, &version, error); /* before anything is changed */
    }
    if (status == SL_OK) {
        status = sl_db_run(&made,
                           "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                           "PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON;"
                           "PRAGMA temp_store = MEMORY",
                           error);
    }
    if (status == SL_OK && version < sl_schema_version) {
        status = migrate(&made, error);
    }
    if (status != SL_OK) {
        sl_db_close(&made);
        return status;
    }
    *db = made;
    return SL_OK;
}

void sl_db_close(struct sl_db *db)
{
    (void)sqlite3_close(db->sql);
    free(db->path);
    *db = (struct sl_db){0};
}

enum sl_status sl_statement_open(struct sl_db *db, const char *sql, struct sl_statement *statement,
                                 struct sl_error *error)
{
    *statement = (struct sl_statement){.db = db, .result = SQLITE_OK};
    int result = sqlite3_prepare_v2(db->sql, sql, -1, &statement->sql, NULL);
    return result == SQLITE_OK ? SL_OK : sl_db_fail(db, result, error);
}

void sl_statement_close(struct sl_statement *statement)
{
    (void)sqlite3_finalize(statement->sql);
    *statement = (struct sl_statement){0};
}

static void note(struct sl_statement *statement, int result)
{
    if (statement->result == SQLITE_OK) {
        statement->result = result;
    }
}

void sl_put_text(struct sl_statement *statement, const char *text)
{
    note(statement, sqlite3_bind_text(statement->sql, ++statement->next, text, -1, SQLITE_STATIC));
}

void sl_put_real(struct sl_statement *statement, double value)
{
    int place = ++statement->next;
    note(statement, isnan(value) ? sqlite3_bind_null(statement->sql, place)
                                 : sqlite3_bind_double(statement->sql, place, value));
}

void sl_put_whole(struct sl_statement *statement, int64_t value)
{
    note(statement, sqlite3_bind_int64(statement->sql, ++statement->next, value));
}

enum sl_status sl_statement_step(struct sl_statement *statement, bool *row, struct sl_error *error)
{
    int result = statement->result;
    if (result == SQLITE_OK) {
        result = sqlite3_step(statement->sql);
    }
    statement->next = 0;
    if (result == SQLITE_ROW) {
        *row = true;
        return SL_OK;
    }
    enum sl_status status =
        result == SQLITE_DONE ? SL_OK : sl_db_fail(statement->db, result, error);
    (void)sqlite3_reset(statement->sql);
    statement->result = SQLITE_OK;
    *row = false;
    return status;
}

enum sl_status sl_statement_run(struct sl_statement *statement, struct sl_error *error)
{
    bool row = false;
    return sl_statement_step(statement, &row, error);
}

const char *sl_column_text(struct sl_statement *statement)
{
    return (const char *)sqlite3_column_text(statement->sql, statement->next++);
}

double sl_column_real(struct sl_statement *statement)
{
    int column = statement->next++;
    bool none = sqlite3_column_type(statement->sql, column) == SQLITE_NULL;
    return none ? NAN : sqlite3_column_double(statement->sql, column);
}

int64_t sl_column_whole(struct sl_statement *statement)
{
    return sqlite3_column_int64(statement->sql, statement->next++);
}
