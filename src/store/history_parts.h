/*
 * What the files of the history share. For history*.c only.
 */
#ifndef SL_STORE_HISTORY_PARTS_H
#define SL_STORE_HISTORY_PARTS_H

#include "store/db.h"
#include "store/history.h"

#define SL_HISTORY_COLUMNS_MAX 40

struct sl_history {
    struct sl_db db;
};

/* The columns of schema.c's SETTINGS: in that order, and with marks for their values. */
#define SL_SETTINGS_COLUMNS "mirrors, signal, speed_mps, gear, clutch, decision, position"
#define SL_SETTINGS_MARKS "?, ?, ?, ?, ?, ?, ?"

/* Mirrors as they are kept; the caller frees. NULL when none is named, or memory ran out: then
 * *failed is set. */
char *sl_mirrors_text(const struct sl_settings *settings, bool *failed);

/* Puts the columns; `mirrors` from sl_mirrors_text. */
void sl_put_settings(struct sl_statement *statement, const struct sl_settings *settings,
                     const char *mirrors);
struct sl_settings sl_column_settings(struct sl_statement *statement);

/* A phrase's phase as text: its id, "filler" or "correction". */
const char *sl_phrase_word(const struct sl_routine *routine, size_t phase);

/* sl_history_put_mark inside a transaction. */
enum sl_status sl_history_put_mark_in(struct sl_history *history, int64_t id,
                                      const struct sl_history_run *run, struct sl_error *error);

/* The id of a learner, who is added where there is none of that name. In a transaction. */
enum sl_status sl_history_add_learner(struct sl_history *history, const char *name, int64_t *id,
                                      struct sl_error *error);

#endif
