/*
 * Text for a terminal: wrapping, columns and labelled facts, in UTF-8.
 *
 * A code point counts as one column (combining and double-width characters are not looked up: names
 * of roads and settings need none). Control characters and broken UTF-8, which a file name may
 * hold, are shown as '?', so that no text can steer the terminal. A no-break space (SL_NBSP) is
 * shown as a blank at which no line ends.
 */
#ifndef SL_REPORT_TEXT_H
#define SL_REPORT_TEXT_H

#include "core/str.h"

#include <stdbool.h>
#include <stddef.h>

/* A colour is only ever added to a word that says the same. */
enum sl_tint { SL_TINT_NONE, SL_TINT_GOOD, SL_TINT_BAD, SL_TINT_UNSURE, SL_TINT_HEADING };

/* Adds `text` with every control character and every byte that is not UTF-8 replaced by '?'. */
void sl_text_clean(struct sl_str *out, const char *text);

/* Adds a code as people read it, with blanks for its hyphens: "went-into-traffic" as "went into
 * traffic". */
void sl_text_code(struct sl_str *out, const char *code);

/* Columns that `text` takes, cleaned. */
size_t sl_text_columns(const char *text);

/*
 * Where a line of at most `columns` columns ends in `text`: after the last word that fits (a figure
 * and its unit stay together), or inside a word that is longer than a line. Returns the bytes of
 * the line; *next is where the following line begins, blanks skipped. `columns` is at least 1.
 */
size_t sl_text_line(const char *text, size_t columns, const char **next);

/* Adds `text` wrapped to `width` columns, the first line behind `label`, every further line
 * indented by the label's columns, and a line end. */
void sl_text_fact(struct sl_str *out, const char *label, const char *text, int width);

/* One cell of a table's row. */
struct sl_cell {
    const char *text;
    int columns; /* width of the cell; two blanks follow, except after the last */
    bool right;  /* aligned to the right: numbers */
    enum sl_tint tint;
};

/* Adds a row; cells whose text is too long go on in further lines. */
void sl_text_row(struct sl_str *out, const struct sl_cell *cells, size_t n_cells, bool colour);

/* Adds `text` in a tint when `colour` is true, else as it is. */
void sl_text_tinted(struct sl_str *out, const char *text, enum sl_tint tint, bool colour);

#endif
