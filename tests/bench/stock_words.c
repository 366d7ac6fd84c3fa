#include "bench/stock_words.h"

#include "core/phrasebook.h"
#include "core/str.h"

#include <stdlib.h>
#include <string.h>

enum sl_status bench_words_add(struct bench_words *words, const struct bench_word *word,
                               struct sl_error *error)
{
    const char *text = word->text;
    if (strchr("<[+", text[0]) != NULL) {
        return SL_OK;
    }
    void *grown = sl_grow(words->items, words->count, &words->room, sizeof *words->items);
    if (grown == NULL) {
        return sl_fail_memory(error);
    }
    words->items = grown;
    size_t length = strcspn(text, "(");
    while (length > 0 && text[length - 1] == ' ') {
        length--; /* a keyword of several words ends so */
    }
    char *copy = sl_strf("%.*s", (int)length, text);
    if (copy == NULL) {
        return sl_fail_memory(error);
    }
    words->items[words->count] = *word;
    words->items[words->count++].text = copy;
    return SL_OK;
}

static size_t count_spaces(const char *text)
{
    size_t n = 0;
    for (; *text != '\0'; text++) {
        n += *text == ' ' ? 1 : 0;
    }
    return n;
}

/* The entry that holds the `number`th word of the text made of all of them. */
static const struct bench_word *entry_of(const struct bench_words *words, size_t number)
{
    size_t i = 0;
    for (size_t before = 0; i + 1 < words->count; i++) {
        before += count_spaces(words->items[i].text) + 1;
        if (number < before) {
            break;
        }
    }
    return &words->items[i];
}

/* The matcher counts words between spaces, so a word holds nothing that it would cut at. */
static void add_plain(struct sl_str *text, const char *word)
{
    for (; *word != '\0'; word++) {
        bool letter = (*word >= 'a' && *word <= 'z') || strchr("' -", *word) != NULL;
        sl_str_add_bytes(text, letter ? word : "x", 1);
    }
}

static enum sl_status add_match(const struct bench_words *words, const struct sl_routine *routine,
                                const struct sl_text_match *match, struct sl_heard_list *heard,
                                struct sl_error *error)
{
    const struct bench_word *first = entry_of(words, match->first_word);
    const struct bench_word *last = entry_of(words, match->first_word + match->n_words - 1);
    struct sl_heard item = {.phase = routine->phrasebook.phrases[match->phrase].phase,
                            .text = first->text,
                            .start_s = first->start_s,
                            .end_s = last->end_s,
                            .confidence = 1,
                            .settings = match->settings};
    return sl_heard_add(heard, &item, error);
}

enum sl_status bench_words_read(const struct bench_words *words, const struct sl_routine *routine,
                                struct sl_heard_list *heard, struct sl_error *error)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < words->count; i++) {
        sl_str_add(&text, i == 0 ? "" : " ");
        add_plain(&text, words->items[i].text);
    }
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    enum sl_status status =
        sl_phrasebook_match(&routine->phrasebook, sl_str_text(&text), &matches, &n_matches, error);
    for (size_t i = 0; i < n_matches && status == SL_OK; i++) {
        status = add_match(words, routine, &matches[i], heard, error);
    }
    free(matches);
    sl_str_clear(&text);
    return status;
}

static double fit(const struct bench_word *word)
{
    return word->score / (word->end_s - word->start_s);
}

static int better_first(const void *a, const void *b)
{
    double first = fit(a);
    double second = fit(b);
    return (first < second) - (first > second);
}

static int earlier_first(const void *a, const void *b)
{
    const struct bench_word *first = a;
    const struct bench_word *second = b;
    return (first->start_s > second->start_s) - (first->start_s < second->start_s);
}

void bench_words_keep_best(struct bench_words *words)
{
    if (words->count == 0) {
        return;
    }
    qsort(words->items, words->count, sizeof *words->items, better_first);
    size_t kept = 0;
    for (size_t i = 0; i < words->count; i++) {
        struct bench_word word = words->items[i];
        bool free_place = true;
        for (size_t k = 0; k < kept && free_place; k++) {
            free_place =
                word.end_s <= words->items[k].start_s || word.start_s >= words->items[k].end_s;
        }
        if (free_place) {
            words->items[kept++] = word;
        } else {
            free(word.text);
        }
    }
    words->count = kept;
    qsort(words->items, words->count, sizeof *words->items, earlier_first);
}

void bench_words_clear(struct bench_words *words)
{
    for (size_t i = 0; i < words->count; i++) {
        free(words->items[i].text);
    }
    free(words->items);
    *words = (struct bench_words){0};
}
