#include "bench/keywords.h"

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

#define LONGEST 24 /* arcs of a wording; longer ones are never among the shortest */

struct wording {
    char *text;
    size_t n_words;
    struct sl_settings settings;
};

struct wordings {
    struct wording *items;
    size_t count, room;
};

/* A way through the graph, as far as it has come. */
struct way {
    const struct sl_phrasebook *book;
    size_t phrase;
    const struct sl_arc *arcs[LONGEST];
    size_t n_arcs;
};

static size_t count_words(const struct way *way)
{
    size_t n = 0;
    for (size_t i = 0; i < way->n_arcs; i++) {
        n += way->arcs[i]->word != NULL ? 1 : 0;
    }
    return n;
}

static struct sl_settings settings_of(const struct way *way)
{
    struct sl_settings settings = way->book->phrases[way->phrase].settings;
    for (size_t i = 0; i < way->n_arcs; i++) {
        sl_settings_merge(&settings, &way->arcs[i]->settings);
    }
    return settings;
}

static char *text_of(const struct way *way)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < way->n_arcs; i++) {
        if (way->arcs[i]->word != NULL) {
            sl_str_addf(&text, "%s%s", text.length == 0 ? "" : " ", way->arcs[i]->word);
        }
    }
    return sl_str_take(&text);
}

/* The longest of those that name the same, and how many there are. */
static size_t longest_alike(const struct wordings *list, const struct sl_settings *settings,
                            size_t *n)
{
    size_t longest = list->count;
    *n = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (sl_settings_equal(&list->items[i].settings, settings)) {
            (*n)++;
            bool longer =
                longest == list->count || list->items[i].n_words > list->items[longest].n_words;
            longest = longer ? i : longest;
        }
    }
    return longest;
}

/* Keeps the wording if it is among the shortest; false when memory runs out. */
static bool offer(const struct way *way, struct wordings *list)
{
    struct wording wording = {NULL, count_words(way), settings_of(way)};
    size_t n = 0;
    size_t longest = longest_alike(list, &wording.settings, &n);
    bool full = longest < list->count && n >= BENCH_WORDINGS;
    if (full && list->items[longest].n_words <= wording.n_words) {
        return true;
    }
    wording.text = text_of(way);
    if (wording.text == NULL) {
        return false;
    }
    if (full) {
        free(list->items[longest].text);
        list->items[longest] = wording;
        return true;
    }
    void *grown = sl_grow(list->items, list->count, &list->room, sizeof *list->items);
    if (grown == NULL) {
        free(wording.text);
        return false;
    }
    list->items = grown;
    list->items[list->count++] = wording;
    return true;
}

/* Follows every way on from `state`. */
static bool walk(struct way *way, size_t state, struct wordings *list)
{
    const struct sl_graph *graph = &way->book->graph;
    bool good = true;
    for (size_t i = 0; i < graph->n_arcs && good && way->n_arcs < LONGEST; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        if (arc->from != state || arc->phrase != way->phrase) {
            continue;
        }
        way->arcs[way->n_arcs++] = arc;
        good = arc->to == 0 ? offer(way, list) : walk(way, arc->to, list);
        way->n_arcs--;
    }
    return good;
}

static bool is_listed(const struct bench_keywords *keywords, const char *text)
{
    for (size_t i = 0; i < keywords->count; i++) {
        if (strcmp(keywords->texts[i], text) == 0) {
            return true;
        }
    }
    return false;
}

static bool add(struct bench_keywords *keywords, const char *text)
{
    if (is_listed(keywords, text)) {
        return true;
    }
    void *grown =
        sl_grow(keywords->texts, keywords->count, &keywords->room, sizeof *keywords->texts);
    if (grown == NULL) {
        return false;
    }
    keywords->texts = grown;
    keywords->texts[keywords->count] = sl_strdup(text);
    return keywords->texts[keywords->count++] != NULL;
}

enum sl_status bench_keywords_make(const struct sl_phrasebook *book,
                                   struct bench_keywords *keywords, struct sl_error *error)
{
    bool good = true;
    for (size_t phrase = 0; phrase < book->n_phrases && good; phrase++) {
        size_t phase = book->phrases[phrase].phase;
        if (phase == SL_PHRASE_FILLER || phase == SL_PHRASE_CORRECTION) {
            continue;
        }
        struct wordings list = {0};
        struct way way = {.book = book, .phrase = phrase};
        good = walk(&way, 0, &list);
        for (size_t i = 0; i < list.count; i++) {
            good = good && add(keywords, list.items[i].text);
            free(list.items[i].text);
        }
        free(list.items);
    }
    return good ? SL_OK : sl_fail_memory(error);
}

void bench_keywords_clear(struct bench_keywords *keywords)
{
    for (size_t i = 0; i < keywords->count; i++) {
        free(keywords->texts[i]);
    }
    free(keywords->texts);
    *keywords = (struct bench_keywords){0};
}
