#include "core/words.h"

#include "core/str.h"

#include <stdlib.h>

static bool is_part_of_word(unsigned char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c >= 0x80;
}

/* A sign of general punctuation by its last byte: typographic apostrophes and hyphens (U+2019,
 * U+2010, U+2011) become plain, the others (dashes, quotes, dots) a space. */
static char plain_sign(unsigned char last_byte)
{
    switch (last_byte) {
    case 0x99:
        return '\'';
    case 0x90:
    case 0x91:
        return '-';
    default:
        return ' ';
    }
}

/* Lower case in ASCII, and U+2000 to U+203F made plain. */
static char *plain_text(const char *text)
{
    struct sl_str plain = {0};
    const unsigned char *at = (const unsigned char *)text;
    while (*at != '\0') {
        char c = (char)*at;
        size_t length = 1;
        if (*at >= 'A' && *at <= 'Z') {
            c = "abcdefghijklmnopqrstuvwxyz"[*at - 'A'];
        } else if (at[0] == 0xE2 && at[1] == 0x80 && at[2] >= 0x80) {
            c = plain_sign(at[2]);
            length = 3;
        }
        sl_str_add_bytes(&plain, &c, 1);
        at += length;
    }
    return sl_str_take(&plain);
}

static bool add_word(struct sl_words *words, const char *from, size_t length)
{
    char **items = sl_grow(words->items, words->count, &words->room, sizeof *items);
    if (items == NULL) {
        return false;
    }
    words->items = items;
    items[words->count] = sl_strf("%.*s", (int)length, from);
    return items[words->count] != NULL && ++words->count > 0;
}

bool sl_words_split(const char *text, struct sl_words *words)
{
    char *plain = plain_text(text);
    bool fine = plain != NULL;
    for (const char *at = plain; fine && *at != '\0';) {
        const char *from = at;
        while (is_part_of_word((unsigned char)*at) || (at > from && (*at == '\'' || *at == '-') &&
                                                       is_part_of_word((unsigned char)at[1]))) {
            at++;
        }
        fine = at == from || add_word(words, from, (size_t)(at - from));
        at += at == from ? 1 : 0;
    }
    free(plain);
    return fine;
}

void sl_words_clear(struct sl_words *words)
{
    for (size_t i = 0; i < words->count; i++) {
        free(words->items[i]);
    }
    free(words->items);
    *words = (struct sl_words){0};
}
