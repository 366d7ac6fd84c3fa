/*
 * Rows of tables as CSV, by RFC 4180: commas, CRLF at every line's end, fields with a comma, a
 * quote or a line end in quotes, quotes doubled. UTF-8, no byte order mark. An empty field is a
 * value that is not there.
 */
#ifndef SL_REPORT_CSV_H
#define SL_REPORT_CSV_H

#include "core/row.h"
#include "core/str.h"

/* The header line. */
void sl_csv_columns(struct sl_str *out, const struct sl_row *row);

/* A record. Figures with up to 3 decimals. */
void sl_csv_row(struct sl_str *out, const struct sl_row *row);

#endif
