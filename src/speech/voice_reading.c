#include "speech/voice_reading.h"

#include "core/str.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Adds text in lower case, as the words of a phrasebook are. */
static void add_lower(struct sl_str *to, const char *text)
{
    static const char capitals[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
    static const char small[] = "abcdefghijklmnopqrstuvwxyz";
    for (const char *c = text; *c != '\0'; c++) {
        const char *capital = strchr(capitals, *c);
        sl_str_add_bytes(to, capital != NULL ? small + (capital - capitals) : c, 1);
    }
}

/* The word that begins at *at, to be freed; NULL when memory runs out. *at moves behind it. */
static char *next_word(const char **at)
{
    size_t length = strcspn(*at, " ");
    char *word = sl_strf("%.*s", (int)length, *at);
    *at += length;
    *at += strspn(*at, " ");
    return word;
}

/* Adds "(hh aa r b er | hh aa b ah) ". */
static enum sl_status add_word(struct sl_str *pattern, const char *word,
                               const struct sl_pronunciations *pronunciations,
                               struct sl_error *error)
{
    size_t first = 0;
    size_t n = sl_pronunciations_find(pronunciations, word, &first);
    if (n == 0) {
        return sl_fail(error, SL_INVALID, word, "add a line to the pronunciations",
                       "the word '%s' of what is read aloud has no pronunciation", word);
    }
    for (size_t i = 0; i < n; i++) {
        sl_str_add(pattern, i == 0 ? "(" : " | ");
        add_lower(pattern, pronunciations->items[first + i].phones);
    }
    sl_str_add(pattern, ") ");
    return SL_OK;
}

static enum sl_status make_pattern(const char *phrase,
                                   const struct sl_pronunciations *pronunciations, char **made,
                                   struct sl_error *error)
{
    struct sl_str pattern = {0};
    enum sl_status status = SL_OK;
    for (const char *at = phrase; status == SL_OK && *at != '\0';) {
        char *word = next_word(&at);
        status =
            word == NULL ? sl_fail_memory(error) : add_word(&pattern, word, pronunciations, error);
        free(word);
    }
    if (status != SL_OK) {
        sl_str_clear(&pattern);
        return status;
    }
    *made = sl_str_take(&pattern);
    return *made == NULL ? sl_fail_memory(error) : SL_OK;
}

/* Room for n phrases in an empty book. */
static bool make_room(struct sl_phrasebook *book, size_t n)
{
    book->phrases = calloc(n, sizeof(*book->phrases));
    return book->phrases != NULL;
}

/* Compiles what was made and puts it into *book, or throws it away. */
static enum sl_status finish(enum sl_status status, struct sl_phrasebook *made,
                             struct sl_phrasebook *book, struct sl_error *error)
{
    if (status == SL_OK) {
        status = sl_phrasebook_compile(made, error);
    }
    if (status != SL_OK) {
        sl_phrasebook_clear(made);
        return status;
    }
    sl_phrasebook_clear(book);
    *book = *made;
    return SL_OK;
}

enum sl_status sl_voice_reading_make(const char *const *phrases, size_t n_phrases,
                                     const struct sl_pronunciations *pronunciations,
                                     struct sl_phrasebook *book, struct sl_error *error)
{
    struct sl_phrasebook made = {0};
    enum sl_status status = make_room(&made, n_phrases) ? SL_OK : sl_fail_memory(error);
    for (size_t i = 0; status == SL_OK && i < n_phrases; i++) {
        status = make_pattern(phrases[i], pronunciations, &made.phrases[i].pattern, error);
        made.n_phrases += status == SL_OK ? 1 : 0;
    }
    return finish(status, &made, book, error);
}

enum sl_status sl_voice_reading_phones(struct sl_phrasebook *book, struct sl_error *error)
{
    struct sl_phrasebook made = {0};
    enum sl_status status = make_room(&made, SL_PHONE_COUNT) ? SL_OK : sl_fail_memory(error);
    for (size_t i = 0; status == SL_OK && i < SL_PHONE_COUNT; i++) {
        struct sl_str pattern = {0};
        add_lower(&pattern, sl_phones[i]);
        made.phrases[i].pattern = sl_str_take(&pattern);
        status = made.phrases[i].pattern == NULL ? sl_fail_memory(error) : SL_OK;
        made.n_phrases += status == SL_OK ? 1 : 0;
    }
    return finish(status, &made, book, error);
}

enum sl_status sl_voice_reading_spell(struct sl_pronunciations *pronunciations,
                                      struct sl_error *error)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < SL_PHONE_COUNT; i++) {
        add_lower(&text, sl_phones[i]);
        sl_str_addf(&text, " %s\n", sl_phones[i]);
    }
    enum sl_status status =
        text.failed ? sl_fail_memory(error)
                    : sl_pronunciations_parse(sl_str_text(&text), "phones", pronunciations, error);
    sl_str_clear(&text);
    return status;
}

size_t sl_voice_reading_length(const char *phrase, const struct sl_pronunciations *pronunciations)
{
    size_t length = 0;
    for (const char *at = phrase; *at != '\0';) {
        char *word = next_word(&at);
        size_t first = 0;
        if (word != NULL && sl_pronunciations_find(pronunciations, word, &first) > 0) {
            length++;
            for (const char *c = pronunciations->items[first].phones; *c != '\0'; c++) {
                length += *c == ' ' ? 1 : 0;
            }
        }
        free(word);
    }
    return length;
}
