#include "speech/pronunciation.h"

#include "core/str.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAX_BYTES ((size_t)4 * 1024 * 1024)

/* A piece of the text that is being read. */
struct piece {
    const char *text;
    size_t length;
};

/* Where in which file an error is. */
struct place {
    const char *origin;
    size_t line;
};

static enum sl_status fail_at(struct sl_error *error, const struct place *place, const char *mend,
                              const char *what, const struct piece *piece)
{
    char *where = sl_strf("%s:%zu", place->origin, place->line);
    char *shown = piece != NULL ? sl_strf(" '%.*s'", (int)(piece->length < 60 ? piece->length : 60),
                                          piece->text)
                                : sl_strdup("");
    enum sl_status status = where == NULL || shown == NULL
                                ? sl_fail_memory(error)
                                : sl_fail(error, SL_INVALID, where, mend, "%s%s", what, shown);
    free(where);
    free(shown);
    return status;
}

/* The next run of characters that are no blanks; length 0 at the end of the line. */
static struct piece next_piece(const char **at, const char *end)
{
    const char *from = *at;
    while (from < end && (*from == ' ' || *from == '\t' || *from == '\r')) {
        from++;
    }
    const char *to = from;
    while (to < end && *to != ' ' && *to != '\t' && *to != '\r') {
        to++;
    }
    *at = to;
    return (struct piece){from, (size_t)(to - from)};
}

static bool is_word(const struct piece *piece)
{
    for (size_t i = 0; i < piece->length; i++) {
        char c = piece->text[i];
        if (!((c >= 'a' && c <= 'z') || c == '\'' || c == '-')) {
            return false;
        }
    }
    return piece->length > 0;
}

/* Takes over the two strings, also when it fails. */
static enum sl_status add(struct sl_pronunciations *list, char *word, char *phones, size_t line,
                          struct sl_error *error)
{
    struct sl_pronunciation *items = NULL;
    if (word != NULL && phones != NULL) {
        items = sl_grow(list->items, list->count, &list->room, sizeof(*items));
    }
    if (items == NULL) {
        free(word);
        free(phones);
        return sl_fail_memory(error);
    }
    list->items = items;
    items[list->count++] = (struct sl_pronunciation){word, phones, line};
    return SL_OK;
}

static enum sl_status parse_line(const char *from, const char *end, const struct place *place,
                                 struct sl_pronunciations *list, struct sl_error *error)
{
    struct piece word = next_piece(&from, end);
    if (word.length == 0) {
        return SL_OK;
    }
    if (!is_word(&word)) {
        return fail_at(error, place, "write it in lower-case letters, apostrophes and hyphens",
                       "not a word:", &word);
    }
    struct sl_str phones = {0};
    for (;;) {
        struct piece phone = next_piece(&from, end);
        if (phone.length == 0) {
            break;
        }
        if (sl_phone_from_name(phone.text, phone.length) == SL_PHONE_NONE) {
            sl_str_clear(&phones);
            return fail_at(error, place,
                           "use the 39 phones of the CMU dictionary, without stress: AA AE AH ...",
                           "unknown phone", &phone);
        }
        sl_str_add(&phones, phones.length > 0 ? " " : "");
        sl_str_add_bytes(&phones, phone.text, phone.length);
    }
    if (phones.length == 0 && !phones.failed) {
        sl_str_clear(&phones);
        return fail_at(error, place, "write its phones after it: gear G IH R",
                       "no pronunciation for", &word);
    }
    return add(list, sl_strf("%.*s", (int)word.length, word.text), sl_str_take(&phones),
               place->line, error);
}

static int by_word_then_line(const void *a, const void *b)
{
    const struct sl_pronunciation *left = a;
    const struct sl_pronunciation *right = b;
    int order = strcmp(left->word, right->word);
    if (order != 0) {
        return order;
    }
    return left->line < right->line ? -1 : left->line > right->line;
}

static enum sl_status refuse_doubles(const struct sl_pronunciations *list, const char *origin,
                                     struct sl_error *error)
{
    for (size_t i = 0; i < list->count; i++) {
        const struct sl_pronunciation *item = &list->items[i];
        for (size_t j = i; j-- > 0 && strcmp(list->items[j].word, item->word) == 0;) {
            if (strcmp(list->items[j].phones, item->phones) == 0) {
                struct place place = {origin, item->line};
                struct piece word = {item->word, strlen(item->word)};
                return fail_at(error, &place, "remove one of the two lines",
                               "the same pronunciation stands above for", &word);
            }
        }
    }
    return SL_OK;
}

enum sl_status sl_pronunciations_parse(const char *text, const char *origin,
                                       struct sl_pronunciations *list, struct sl_error *error)
{
    struct sl_pronunciations found = {0};
    struct place place = {origin, 0};
    enum sl_status status = SL_OK;
    while (*text != '\0' && status == SL_OK) {
        place.line++;
        size_t length = strcspn(text, "\n");
        const char *comment = memchr(text, '#', length);
        status = parse_line(text, comment != NULL ? comment : text + length, &place, &found, error);
        text += length + (text[length] == '\n' ? 1 : 0);
    }
    if (status == SL_OK && found.count > 0) {
        qsort(found.items, found.count, sizeof(found.items[0]), by_word_then_line);
        status = refuse_doubles(&found, origin, error);
    }
    if (status != SL_OK) {
        sl_pronunciations_clear(&found);
        return status;
    }
    sl_pronunciations_clear(list);
    *list = found;
    return SL_OK;
}

static enum sl_status read_all(FILE *file, const char *path, struct sl_str *text,
                               struct sl_error *error)
{
    char block[4096];
    size_t n;
    while ((n = fread(block, 1, sizeof(block), file)) > 0) {
        if (memchr(block, '\0', n) != NULL) {
            return sl_fail(error, SL_FORMAT, path, "give a pronunciation file",
                           "this is not a text file");
        }
        sl_str_add_bytes(text, block, n);
        if (text->failed) {
            return sl_fail_memory(error);
        }
        if (text->length > MAX_BYTES) {
            return sl_fail(error, SL_TOO_LARGE, path, "keep the words of the phrasebook only",
                           "the pronunciation file is larger than 4 MB");
        }
    }
    if (ferror(file)) {
        return sl_fail(error, SL_IO, path, NULL, "cannot read the pronunciations: %s",
                       strerror(errno));
    }
    return SL_OK;
}

enum sl_status sl_pronunciations_load(const char *path, struct sl_pronunciations *list,
                                      struct sl_error *error)
{
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        return sl_fail(error, errno == ENOENT ? SL_NOT_FOUND : SL_IO, path,
                       "it comes with sayline as models/pronunciations.dict",
                       "cannot open the pronunciations: %s", strerror(errno));
    }
    struct sl_str text = {0};
    enum sl_status status = read_all(file, path, &text, error);
    (void)fclose(file);
    if (status == SL_OK) {
        status = sl_pronunciations_parse(sl_str_text(&text), path, list, error);
    }
    sl_str_clear(&text);
    return status;
}

void sl_pronunciations_clear(struct sl_pronunciations *list)
{
    if (list == NULL) {
        return;
    }
    for (size_t i = 0; i < list->count; i++) {
        free(list->items[i].word);
        free(list->items[i].phones);
    }
    free(list->items);
    *list = (struct sl_pronunciations){0};
}
