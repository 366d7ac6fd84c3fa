/*
 * Rows of tables as JSON; docs/formats.md, "Export of the history".
 */
#ifndef SL_FILES_ROW_JSON_H
#define SL_FILES_ROW_JSON_H

#include "core/row.h"
#include "core/status.h"

/* One object on one line, without the line end: a key a column. The caller frees. */
enum sl_status sl_row_to_json(const struct sl_row *row, char **json, struct sl_error *error);

#endif
