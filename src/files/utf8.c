#include "files/utf8.h"

#include "core/str.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* One row of RFC 3629's syntax of byte sequences (section 4): lead bytes from..to, the range of the
 * second byte, and how many bytes follow the lead. */
struct utf8_row {
    unsigned char from, to, second_from, second_to, more;
};

static const struct utf8_row rows[] = {
    {0x00, 0x7F, 0, 0, 0},       {0xC2, 0xDF, 0x80, 0xBF, 1}, {0xE0, 0xE0, 0xA0, 0xBF, 2},
    {0xE1, 0xEC, 0x80, 0xBF, 2}, {0xED, 0xED, 0x80, 0x9F, 2}, {0xEE, 0xEF, 0x80, 0xBF, 2},
    {0xF0, 0xF0, 0x90, 0xBF, 3}, {0xF1, 0xF3, 0x80, 0xBF, 3}, {0xF4, 0xF4, 0x80, 0x8F, 3},
};

/* True when the bytes after the lead are as the row wants them; there are enough of them. */
static bool fits(const struct utf8_row *row, const unsigned char *text)
{
    bool fine = row->more == 0 || (text[1] >= row->second_from && text[1] <= row->second_to);
    for (size_t i = 2; i <= row->more; i++) {
        fine = fine && (text[i] & 0xC0) == 0x80;
    }
    return fine;
}

/* Length of the character at `text`, 0 when there is no whole one. */
static size_t character_length(const unsigned char *text, size_t length)
{
    for (size_t r = 0; r < sizeof(rows) / sizeof(rows[0]); r++) {
        const struct utf8_row *row = &rows[r];
        if (text[0] >= row->from && text[0] <= row->to) {
            return row->more < length && fits(row, text) ? (size_t)row->more + 1 : 0;
        }
    }
    return 0;
}

size_t sl_utf8_valid_length(const char *text, size_t length)
{
    size_t at = 0;
    while (at < length) {
        size_t step = character_length((const unsigned char *)text + at, length - at);
        if (step == 0) {
            break;
        }
        at += step;
    }
    return at;
}

char *sl_utf8_escaped(const char *text)
{
    struct sl_str str = {0};
    size_t left = strlen(text);
    while (left > 0) {
        size_t valid = sl_utf8_valid_length(text, left);
        sl_str_add_bytes(&str, text, valid);
        text += valid;
        left -= valid;
        if (left > 0) {
            sl_str_addf(&str, "\\x%02x", (unsigned char)*text);
            text++;
            left--;
        }
    }
    return sl_str_take(&str);
}
