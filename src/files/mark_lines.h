/*
 * The lines of `sayline mark --json` read back, and what they add up to as JSON.
 */
#ifndef SL_FILES_MARK_LINES_H
#define SL_FILES_MARK_LINES_H

#include "core/tally.h"

/*
 * Adds every line of a file ("-": standard input) of at most 256 MB; empty lines are passed over.
 * SL_FORMAT with "file:line" for a line that is no mark or failure of a mark, or of another
 * version; SL_NOT_FOUND, SL_IO, SL_TOO_LARGE, SL_NO_MEMORY.
 */
enum sl_status sl_mark_lines_add(const char *path, struct sl_tally *tally, struct sl_error *error);

/* Adds one line of so many bytes; `where` is what it is called in errors. SL_FORMAT, SL_NO_MEMORY.
 */
enum sl_status sl_mark_line_add(const char *line, size_t length, const char *where,
                                struct sl_tally *tally, struct sl_error *error);

/* A sorted tally as one object on one line (docs/formats.md, "Merged marks"); the caller frees. */
enum sl_status sl_tally_to_json(const struct sl_tally *tally, char **json, struct sl_error *error);

#endif
