#include "core/phrasebook.h"

#include "core/pattern.h"
#include "core/str.h"
#include "core/word_graph.h"

#include <stdlib.h>
#include <string.h>

static const struct sl_slot *find_slot(const struct sl_phrasebook *book, const char *name)
{
    for (size_t i = 0; i < book->n_slots; i++) {
        if (strcmp(book->slots[i].name, name) == 0) {
            return &book->slots[i];
        }
    }
    return NULL;
}

/* The pattern's first item that names a slot which the book does not have; NULL: none. */
static const struct sl_pattern_item *find_unknown_slot(const struct sl_phrasebook *book,
                                                       const struct sl_pattern *pattern)
{
    for (size_t i = 0; i < pattern->n_items; i++) {
        const struct sl_pattern_item *item = &pattern->items[i];
        if (item->kind == SL_PATTERN_SLOT && find_slot(book, item->text) == NULL) {
            return item;
        }
    }
    return NULL;
}

/* Parses a pattern and sees that its slots exist. */
static enum sl_status read_pattern(const struct sl_phrasebook *book, const char *text,
                                   struct sl_pattern *pattern, size_t *column,
                                   struct sl_error *error)
{
    struct sl_pattern parsed = {0};
    enum sl_status status = sl_pattern_parse(text, &parsed, column, error);
    if (status != SL_OK) {
        return status;
    }
    const struct sl_pattern_item *unknown = find_unknown_slot(book, &parsed);
    if (unknown == NULL) {
        *pattern = parsed;
        return SL_OK;
    }
    if (column != NULL) {
        *column = unknown->column;
    }
    status = sl_pattern_fail(text, unknown->column, "there is no slot of this name",
                             "define the slot, or mend its name", error);
    sl_pattern_clear(&parsed);
    return status;
}

enum sl_status sl_phrasebook_check_pattern(const struct sl_phrasebook *book, const char *pattern,
                                           size_t *column, struct sl_error *error)
{
    struct sl_pattern parsed = {0};
    enum sl_status status = read_pattern(book, pattern, &parsed, column, error);
    sl_pattern_clear(&parsed);
    return status;
}

static enum sl_status check_value(const struct sl_slot *slot, const char *words,
                                  struct sl_error *error)
{
    struct sl_pattern parsed = {0};
    enum sl_status status = sl_pattern_parse(words, &parsed, NULL, error);
    for (size_t i = 0; i < parsed.n_items && status == SL_OK; i++) {
        if (parsed.items[i].kind != SL_PATTERN_WORD) {
            status = sl_fail(error, SL_INVALID, slot->name,
                             "write plain words; give each way of saying it a value of its own",
                             "the value '%s' of slot <%s> has brackets or a slot in it", words,
                             slot->name);
        }
    }
    sl_pattern_clear(&parsed);
    return status;
}

static enum sl_status check_slot(const struct sl_phrasebook *book, const struct sl_slot *slot,
                                 struct sl_error *error)
{
    size_t length = strspn(slot->name, "abcdefghijklmnopqrstuvwxyz-");
    if (length == 0 || slot->name[length] != '\0') {
        return sl_fail(error, SL_INVALID, slot->name, "use lower case letters and hyphens only",
                       "'%s' cannot be the name of a slot", slot->name);
    }
    if (find_slot(book, slot->name) != slot) {
        return sl_fail(error, SL_INVALID, slot->name, "give every slot a name of its own",
                       "two slots are called <%s>", slot->name);
    }
    if (slot->n_values == 0) {
        return sl_fail(error, SL_INVALID, slot->name, "list the words that may stand there",
                       "slot <%s> has no values", slot->name);
    }
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < slot->n_values && status == SL_OK; i++) {
        status = check_value(slot, slot->values[i].words, error);
    }
    return status;
}

static enum sl_status add_phrase(const struct sl_phrasebook *book, size_t phrase,
                                 struct sl_graph_builder *builder, struct sl_error *error)
{
    struct sl_pattern pattern = {0};
    const char *text = book->phrases[phrase].pattern;
    enum sl_status status = read_pattern(book, text, &pattern, NULL, error);
    if (status != SL_OK) {
        return status;
    }
    sl_graph_add_phrase(builder, book, phrase, &pattern);
    sl_pattern_clear(&pattern);
    if (builder->too_large) {
        return sl_fail(error, SL_TOO_LARGE, text, "use fewer or shorter patterns",
                       "the phrasebook needs more than %d steps", SL_GRAPH_ARCS_MAX);
    }
    return builder->no_memory ? sl_fail_memory(error) : SL_OK;
}

void sl_graph_clear(struct sl_graph *graph)
{
    if (graph == NULL) {
        return;
    }
    for (size_t i = 0; i < graph->n_words; i++) {
        free(graph->words[i]);
    }
    free(graph->words);
    free(graph->arcs);
    *graph = (struct sl_graph){0};
}

enum sl_status sl_phrasebook_compile(struct sl_phrasebook *book, struct sl_error *error)
{
    struct sl_graph_builder builder = {.n_states = 1};
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < book->n_slots && status == SL_OK; i++) {
        status = check_slot(book, &book->slots[i], error);
    }
    for (size_t i = 0; i < book->n_phrases && status == SL_OK; i++) {
        status = add_phrase(book, i, &builder, error);
    }
    struct sl_graph graph = {0};
    if (status == SL_OK && !sl_graph_finish(&builder, &graph)) {
        status = sl_fail_memory(error);
    }
    if (status == SL_OK) {
        sl_graph_clear(&book->graph);
        book->graph = graph;
    }
    sl_graph_builder_clear(&builder);
    return status;
}

static int compare_words(const void *word, const void *entry)
{
    return strcmp(word, *(char *const *)entry);
}

size_t sl_graph_find_word(const struct sl_graph *graph, const char *word)
{
    char *const *entry = graph->n_words == 0 ? NULL
                                             : bsearch(word, graph->words, graph->n_words,
                                                       sizeof *graph->words, compare_words);
    return entry != NULL ? (size_t)(entry - graph->words) : graph->n_words;
}

size_t sl_graph_word(const struct sl_graph *graph, size_t arc)
{
    return sl_graph_find_word(graph, graph->arcs[arc].word);
}

size_t sl_graph_first(const struct sl_graph *graph, size_t state)
{
    size_t low = 0;
    size_t high = graph->n_arcs;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (graph->arcs[middle].from < state) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

enum sl_status sl_graph_copy(const struct sl_graph *graph, struct sl_graph *copy,
                             struct sl_error *error)
{
    struct sl_graph made = {
        .n_states = graph->n_states,
        .arcs = calloc(graph->n_arcs + 1, sizeof *made.arcs),
        .words = calloc(graph->n_words + 1, sizeof *made.words),
    };
    bool whole = made.arcs != NULL && made.words != NULL;
    for (; whole && made.n_words < graph->n_words; made.n_words++) {
        made.words[made.n_words] = sl_strdup(graph->words[made.n_words]);
        whole = made.words[made.n_words] != NULL;
    }
    for (; whole && made.n_arcs < graph->n_arcs; made.n_arcs++) {
        struct sl_arc *arc = &made.arcs[made.n_arcs];
        *arc = graph->arcs[made.n_arcs];
        arc->word = arc->word != NULL ? made.words[sl_graph_word(graph, made.n_arcs)] : NULL;
    }
    if (!whole) {
        sl_graph_clear(&made);
        return sl_fail_memory(error);
    }
    sl_graph_clear(copy);
    *copy = made;
    return SL_OK;
}

void sl_phrasebook_clear(struct sl_phrasebook *book)
{
    for (size_t i = 0; i < book->n_phrases; i++) {
        free(book->phrases[i].pattern);
    }
    for (size_t i = 0; i < book->n_slots; i++) {
        for (size_t j = 0; j < book->slots[i].n_values; j++) {
            free(book->slots[i].values[j].words);
        }
        free(book->slots[i].values);
        free(book->slots[i].name);
    }
    free(book->phrases);
    free(book->slots);
    sl_graph_clear(&book->graph);
    *book = (struct sl_phrasebook){0};
}
