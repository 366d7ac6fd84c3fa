/* Phrases in typed text: the word graph is walked from every word on, all ways at once. */
#include "core/phrasebook.h"
#include "core/str.h"
#include "core/words.h"

#include <stdbool.h>
#include <stdlib.h>

/* The words of a text: pointers into the graph's words, NULL for a word that is not among them. */
struct text_words {
    const char **items;
    size_t count, room;
};

/* Where a way through the graph has got to, and what was named on it. */
struct place {
    size_t state;
    struct sl_settings settings;
};

/* The places after some number of words, each state once: the first way to it counts. */
struct front {
    struct place *places;
    size_t count;
    size_t *seen; /* by state: the turn in which it was entered last */
    size_t turn;
};

struct finder {
    const struct sl_graph *graph;
    struct front now, next;
    struct sl_text_match best; /* n_words 0: none yet */
};

static bool add_word(const struct sl_graph *graph, const char *word, struct text_words *words)
{
    const char **items = sl_grow(words->items, words->count, &words->room, sizeof *items);
    if (items == NULL) {
        return false;
    }
    words->items = items;
    size_t index = sl_graph_find_word(graph, word);
    items[words->count++] = index < graph->n_words ? graph->words[index] : NULL;
    return true;
}

/* The text's words as the graph has them; false when memory runs out. */
static bool look_up_words(const struct sl_graph *graph, const struct sl_words *text,
                          struct text_words *words)
{
    for (size_t i = 0; i < text->count; i++) {
        if (!add_word(graph, text->items[i], words)) {
            return false;
        }
    }
    return true;
}

static void start_turn(struct front *front)
{
    front->count = 0;
    front->turn++;
}

static void enter(struct front *front, size_t state, const struct sl_settings *settings)
{
    if (front->seen[state] != front->turn) {
        front->seen[state] = front->turn;
        front->places[front->count++] = (struct place){.state = state, .settings = *settings};
    }
}

/* Takes an arc from a place; `n_words` words are behind it then. */
static void take(struct finder *finder, const struct place *place, const struct sl_arc *arc,
                 size_t n_words)
{
    struct sl_settings settings = place->settings;
    sl_settings_merge(&settings, &arc->settings);
    struct sl_text_match *best = &finder->best;
    if (arc->to != 0) {
        enter(arc->word == NULL ? &finder->now : &finder->next, arc->to, &settings);
    } else if (n_words > best->n_words ||
               (n_words == best->n_words && arc->phrase < best->phrase)) {
        best->phrase = arc->phrase;
        best->n_words = n_words;
        best->settings = settings;
    }
}

/* Takes every arc out of a place that `word` allows; NULL: the empty ones only. */
static void go_on(struct finder *finder, const struct place *place, const char *word,
                  size_t n_words)
{
    const struct sl_graph *graph = finder->graph;
    for (size_t i = sl_graph_first(graph, place->state);
         i < graph->n_arcs && graph->arcs[i].from == place->state; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        if (arc->word == NULL) {
            take(finder, place, arc, n_words);
        } else if (arc->word == word) {
            take(finder, place, arc, n_words + 1);
        }
    }
}

/* Finds the longest phrase that begins with words[0], into finder->best. */
static void find_longest(struct finder *finder, const char *const *words, size_t n_words)
{
    const struct sl_settings none = {0};
    finder->best = (struct sl_text_match){0};
    start_turn(&finder->now);
    enter(&finder->now, 0, &none);
    for (size_t n = 0; finder->now.count > 0; n++) {
        start_turn(&finder->next);
        for (size_t i = 0; i < finder->now.count; i++) { /* grows by empty arcs */
            struct place place = finder->now.places[i];
            go_on(finder, &place, n < n_words ? words[n] : NULL, n);
        }
        struct front done = finder->now;
        finder->now = finder->next;
        finder->next = done;
    }
}

static bool start_finder(struct finder *finder, const struct sl_graph *graph)
{
    size_t n_states = graph->n_states;
    finder->graph = graph;
    finder->now.places = calloc(n_states, sizeof *finder->now.places);
    finder->next.places = calloc(n_states, sizeof *finder->next.places);
    finder->now.seen = calloc(n_states, sizeof *finder->now.seen);
    finder->next.seen = calloc(n_states, sizeof *finder->next.seen);
    return finder->now.places != NULL && finder->next.places != NULL && finder->now.seen != NULL &&
           finder->next.seen != NULL;
}

static void end_finder(struct finder *finder)
{
    free(finder->now.places);
    free(finder->next.places);
    free(finder->now.seen);
    free(finder->next.seen);
}

/* Phrases from the left, longest first; false when memory runs out. */
static bool find_all(struct finder *finder, const struct sl_phrasebook *book,
                     const struct text_words *words, struct sl_text_match **matches,
                     size_t *n_matches)
{
    size_t room = 0;
    size_t at = 0;
    while (at < words->count) {
        find_longest(finder, words->items + at, words->count - at);
        if (finder->best.n_words == 0) {
            at++;
            continue;
        }
        struct sl_text_match *larger = sl_grow(*matches, *n_matches, &room, sizeof *larger);
        if (larger == NULL) {
            return false;
        }
        *matches = larger;
        struct sl_text_match match = finder->best;
        match.first_word = at;
        match.settings = book->phrases[match.phrase].settings;
        sl_settings_merge(&match.settings, &finder->best.settings);
        larger[(*n_matches)++] = match;
        at += match.n_words;
    }
    return true;
}

enum sl_status sl_phrasebook_match(const struct sl_phrasebook *book, const char *text,
                                   struct sl_text_match **matches, size_t *n_matches,
                                   struct sl_error *error)
{
    struct text_words words = {0};
    struct finder finder = {0};
    struct sl_text_match *found = NULL;
    size_t n_found = 0;
    struct sl_words split = {0};
    bool ok = sl_words_split(text, &split) && look_up_words(&book->graph, &split, &words);
    if (ok && book->graph.n_arcs > 0) {
        ok = start_finder(&finder, &book->graph) &&
             find_all(&finder, book, &words, &found, &n_found);
    }
    end_finder(&finder);
    free(words.items);
    sl_words_clear(&split);
    if (!ok) {
        free(found);
        return sl_fail_memory(error);
    }
    *matches = found;
    *n_matches = n_found;
    return SL_OK;
}
