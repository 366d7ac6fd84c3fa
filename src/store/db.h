/*
 * An SQLite database of ours: opening, migrating, statements. For the files of src/store only, and
 * the one header that includes SQLite.
 *
 * A statement takes its values in the order of their marks (?) and gives its columns in their
 * order; what goes wrong on the way is kept and said by the next sl_statement_step.
 */
#ifndef SL_STORE_DB_H
#define SL_STORE_DB_H

#include "core/status.h"

#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

struct sl_db {
    sqlite3 *sql;
    char *path;
};

/*
 * Opens the database at `path`, makes it when there is none (readable by the user only; its folder
 * must exist), and brings it to the newest schema, each step whole or not at all. WAL, synced at
 * every commit, foreign keys, deleted content overwritten, waits 10 s for other writers. SL_IO,
 * SL_FORMAT (no database of ours), SL_UNSUPPORTED (of a later version; it is not touched).
 */
enum sl_status sl_db_open(const char *path, struct sl_db *db, struct sl_error *error);

/* Ready for {0}. */
void sl_db_close(struct sl_db *db);

/* SQL without values and rows. */
enum sl_status sl_db_run(struct sl_db *db, const char *sql, struct sl_error *error);

/* The error for what SQLite just refused. */
enum sl_status sl_db_fail(struct sl_db *db, int result, struct sl_error *error);

/* Begins a transaction that may write. */
enum sl_status sl_db_begin(struct sl_db *db, struct sl_error *error);

/* Commits when `status` is SL_OK, else, or when that fails, takes all of it back. The status of the
 * whole. */
enum sl_status sl_db_end(struct sl_db *db, enum sl_status status, struct sl_error *error);

struct sl_statement {
    struct sl_db *db;
    sqlite3_stmt *sql;
    int next;   /* value to put, or column to take */
    int result; /* the first failure, or SQLITE_OK */
};

enum sl_status sl_statement_open(struct sl_db *db, const char *sql, struct sl_statement *statement,
                                 struct sl_error *error);
/* Ready for {0}. */
void sl_statement_close(struct sl_statement *statement);

/* NULL and NAN are put as NULL. Texts must live until the next step. */
void sl_put_text(struct sl_statement *statement, const char *text);
void sl_put_real(struct sl_statement *statement, double value);
void sl_put_whole(struct sl_statement *statement, int64_t value);

/* The next row; *row is false after the last, and values can be put anew then. */
enum sl_status sl_statement_step(struct sl_statement *statement, bool *row, struct sl_error *error);

/* Runs a statement that gives no rows, with the values put. */
enum sl_status sl_statement_run(struct sl_statement *statement, struct sl_error *error);

/* NULL is NULL and NAN and 0. A text lives until the next step. */
const char *sl_column_text(struct sl_statement *statement);
double sl_column_real(struct sl_statement *statement);
int64_t sl_column_whole(struct sl_statement *statement);

#endif
