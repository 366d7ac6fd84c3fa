#include "report/text.h"

#include <stdint.h>
#include <string.h>

#define CELL_MAX 12
#define GAP 2

/* Bytes of the well-formed UTF-8 character at `text`; 0 when it is a control character or broken.
 * Unicode 15, table 3-7. */
static size_t character(const unsigned char *text)
{
    if (text[0] < 0x80) {
        return text[0] >= 0x20 && text[0] != 0x7f ? 1 : 0;
    }
    size_t length = text[0] >= 0xf0 ? 4 : text[0] >= 0xe0 ? 3 : 2;
    if (text[0] < 0xc2 || text[0] > 0xf4) {
        return 0;
    }
    uint32_t code = text[0] & (0xffU >> (length + 1));
    for (size_t i = 1; i < length; i++) {
        if ((text[i] & 0xc0) != 0x80) {
            return 0;
        }
        code = code << 6 | (text[i] & 0x3fU);
    }
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    bool surrogate = code >= 0xd800 && code <= 0xdfff;
    bool control = code >= 0x80 && code < 0xa0;
    bool turns = (code >= 0x202a && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069);
    if (code < least[length] || code > 0x10ffff || surrogate || control || turns) {
        return 0;
    }
    return length;
}

static size_t step(const char *text, bool *shown)
{
    size_t length = character((const unsigned char *)text);
    *shown = length > 0;
    return length > 0 ? length : 1;
}

static void clean_bytes(struct sl_str *out, const char *text, size_t bytes)
{
    const char *end = text + bytes;
    while (text < end) {
        bool shown;
        size_t length = step(text, &shown);
        if (shown) {
            sl_str_add_bytes(out, text, length);
        } else {
            sl_str_add(out, "?");
        }
        text += length;
    }
}

void sl_text_clean(struct sl_str *out, const char *text)
{
    clean_bytes(out, text, strlen(text));
}

static size_t columns_of(const char *text, size_t bytes)
{
    size_t columns = 0;
    bool shown;
    for (size_t at = 0; at < bytes; at += step(text + at, &shown)) {
        columns++;
    }
    return columns;
}

void sl_text_code(struct sl_str *out, const char *code)
{
    for (const char *at = code; *at != '\0'; at++) {
        sl_str_add_bytes(out, *at == '-' ? " " : at, 1);
    }
}

size_t sl_text_columns(const char *text)
{
    return columns_of(text, strlen(text));
}

/* A line may end at a blank, but not between a figure and its unit. */
static bool may_end(const char *text, size_t at)
{
    bool after_figure = at > 0 && text[at - 1] >= '0' && text[at - 1] <= '9';
    bool before_unit = text[at + 1] >= 'a' && text[at + 1] <= 'z';
    return text[at] == ' ' && !(after_figure && before_unit);
}

size_t sl_text_line(const char *text, size_t columns, const char **next)
{
    size_t at = 0;
    size_t used = 0;
    size_t word_end = 0; /* bytes up to the last blank that may end the line */
    while (text[at] != '\0' && used < columns) {
        bool shown;
        if (may_end(text, at)) {
            word_end = at;
        }
        at += step(text + at, &shown);
        used++;
    }
    size_t length = at;
    if (text[at] != '\0' && !may_end(text, at) && word_end > 0) {
        length = word_end;
    }
    const char *rest = text + length;
    while (*rest == ' ') {
        rest++;
    }
    *next = rest;
    while (length > 0 && text[length - 1] == ' ') {
        length--;
    }
    return length;
}

static void blanks(struct sl_str *out, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        sl_str_add(out, " ");
    }
}

void sl_text_fact(struct sl_str *out, const char *label, const char *text, int width)
{
    size_t indent = sl_text_columns(label);
    size_t room = (size_t)width > indent + 10 ? (size_t)width - indent : 10;
    const char *rest = text;
    sl_text_clean(out, label);
    do {
        const char *next;
        size_t length = sl_text_line(rest, room, &next);
        clean_bytes(out, rest, length);
        sl_str_add(out, "\n");
        if (*next != '\0') {
            blanks(out, indent);
        }
        rest = next;
    } while (*rest != '\0');
}

static const char *tint_code(enum sl_tint tint)
{
    switch (tint) {
    case SL_TINT_GOOD:
        return "\033[32m";
    case SL_TINT_BAD:
        return "\033[31m";
    case SL_TINT_UNSURE:
        return "\033[33m";
    case SL_TINT_HEADING:
        return "\033[1m";
    case SL_TINT_NONE:
        break;
    }
    return NULL;
}

static void tinted_bytes(struct sl_str *out, const char *text, size_t bytes, const char *code)
{
    if (code != NULL && bytes > 0) {
        sl_str_add(out, code);
    }
    clean_bytes(out, text, bytes);
    if (code != NULL && bytes > 0) {
        sl_str_add(out, "\033[0m");
    }
}

void sl_text_tinted(struct sl_str *out, const char *text, enum sl_tint tint, bool colour)
{
    tinted_bytes(out, text, strlen(text), colour ? tint_code(tint) : NULL);
}

/* The next line of one cell; `pending` are the blanks owed since the last text of this line. */
static void cell_line(struct sl_str *out, const struct sl_cell *cell, const char **rest,
                      size_t *pending, bool colour)
{
    const char *next = *rest;
    size_t columns = cell->columns > 0 ? (size_t)cell->columns : 1;
    size_t length = **rest == '\0' ? 0 : sl_text_line(*rest, columns, &next);
    size_t used = columns_of(*rest, length);
    size_t spare = columns > used ? columns - used : 0;
    if (length > 0) {
        blanks(out, *pending + (cell->right ? spare : 0));
        tinted_bytes(out, *rest, length, colour ? tint_code(cell->tint) : NULL);
        *pending = GAP + (cell->right ? 0 : spare);
    } else {
        *pending += columns + GAP;
    }
    *rest = next;
}

void sl_text_row(struct sl_str *out, const struct sl_cell *cells, size_t n_cells, bool colour)
{
    const char *rest[CELL_MAX];
    size_t n = n_cells < CELL_MAX ? n_cells : CELL_MAX;
    for (size_t i = 0; i < n; i++) {
        rest[i] = cells[i].text == NULL ? "" : cells[i].text;
    }
    bool more = true;
    while (more) {
        size_t pending = 0;
        more = false;
        for (size_t i = 0; i < n; i++) {
            cell_line(out, &cells[i], &rest[i], &pending, colour);
            more = more || *rest[i] != '\0';
        }
        sl_str_add(out, "\n");
    }
}
