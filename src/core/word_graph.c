#include "core/word_graph.h"

#include "core/str.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define NO_STATE SIZE_MAX

/* The shared copy of a word; NULL when memory runs out. */
static const char *intern(struct sl_graph_builder *builder, const char *word)
{
    size_t low = 0;
    size_t high = builder->n_words;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = strcmp(builder->words[middle], word);
        if (order == 0) {
            return builder->words[middle];
        }
        if (order < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    char **words = sl_grow(builder->words, builder->n_words, &builder->words_room, sizeof *words);
    char *copy = sl_strdup(word);
    if (words != NULL) {
        builder->words = words;
    }
    if (words == NULL || copy == NULL) {
        free(copy);
        builder->no_memory = true;
        return NULL;
    }
    memmove(words + low + 1, words + low, (builder->n_words - low) * sizeof *words);
    words[low] = copy;
    builder->n_words++;
    return copy;
}

void sl_graph_add_arc(struct sl_graph_builder *builder, const struct sl_arc *arc)
{
    builder->too_large = builder->too_large || builder->n_arcs >= SL_GRAPH_ARCS_MAX;
    if (builder->too_large || builder->no_memory) {
        return;
    }
    struct sl_arc *arcs =
        sl_grow(builder->arcs, builder->n_arcs, &builder->arcs_room, sizeof *arcs);
    if (arcs == NULL) {
        builder->no_memory = true;
        return;
    }
    builder->arcs = arcs;
    arcs[builder->n_arcs++] = *arc;
}

void sl_graph_remove_arc(struct sl_graph_builder *builder, size_t index)
{
    builder->n_arcs--;
    memmove(builder->arcs + index, builder->arcs + index + 1,
            (builder->n_arcs - index) * sizeof *builder->arcs);
}

void sl_graph_redirect(struct sl_graph_builder *builder, size_t first, size_t state, size_t into)
{
    for (size_t i = first; i < builder->n_arcs; i++) {
        if (builder->arcs[i].to == state) {
            builder->arcs[i].to = into;
        }
    }
}

/* Adds the words of a slot's value as a chain into `end` (NO_STATE: a new state); returns the end.
 * The words were checked: they are parted by spaces. */
static size_t add_value(struct sl_graph_builder *builder, const struct sl_slot_value *value,
                        const struct sl_arc *start, size_t end)
{
    struct sl_arc arc = *start;
    arc.settings = value->settings;
    const char *at = value->words + strspn(value->words, " ");
    while (*at != '\0') {
        size_t length = strcspn(at, " ");
        char *word = sl_strf("%.*s", (int)length, at);
        at += length;
        at += strspn(at, " ");
        bool last = *at == '\0';
        arc.to = last && end != NO_STATE ? end : builder->n_states++;
        arc.word = word == NULL ? NULL : intern(builder, word);
        builder->no_memory = builder->no_memory || arc.word == NULL;
        free(word);
        sl_graph_add_arc(builder, &arc);
        arc.from = arc.to;
        arc.settings = (struct sl_settings){0}; /* they sit on the first word */
    }
    return arc.to;
}

static size_t add_slot(struct sl_graph_builder *builder, const struct sl_phrasebook *book,
                       const char *name, const struct sl_arc *start)
{
    size_t end = NO_STATE;
    for (size_t i = 0; i < book->n_slots; i++) {
        const struct sl_slot *slot = &book->slots[i];
        for (size_t j = 0; j < slot->n_values && strcmp(slot->name, name) == 0; j++) {
            end = add_value(builder, &slot->values[j], start, end);
        }
    }
    return end;
}

/* An open bracket: its alternatives all lead from start to end. */
struct bracket {
    size_t start, end;
    bool optional;
};

/* Where the building of a phrase has got to. */
struct walk {
    size_t first; /* the phrase's first arc */
    struct bracket brackets[SL_PATTERN_DEPTH_MAX];
    size_t depth;
    struct sl_arc arc; /* the next one: its `from` is where we are */
};

static void open_bracket(struct walk *walk, bool optional)
{
    walk->brackets[walk->depth++] =
        (struct bracket){.start = walk->arc.from, .end = NO_STATE, .optional = optional};
}

/* Ends an alternative: the first one gives the bracket its end. */
static void end_alternative(struct sl_graph_builder *builder, struct walk *walk)
{
    assert(walk->depth > 0); /* patterns come with their brackets balanced */
    struct bracket *bracket = &walk->brackets[walk->depth - 1];
    if (bracket->end == NO_STATE) {
        bracket->end = walk->arc.from;
    } else {
        sl_graph_redirect(builder, walk->first, walk->arc.from, bracket->end);
    }
    walk->arc.from = bracket->start;
}

static void close_bracket(struct sl_graph_builder *builder, struct walk *walk)
{
    end_alternative(builder, walk);
    const struct bracket *bracket = &walk->brackets[--walk->depth];
    walk->arc.to = bracket->end;
    walk->arc.word = NULL;
    if (bracket->optional) {
        sl_graph_add_arc(builder, &walk->arc);
    }
    walk->arc.from = bracket->end;
}

static void add_word(struct sl_graph_builder *builder, struct walk *walk, const char *word)
{
    walk->arc.to = builder->n_states++;
    walk->arc.word = intern(builder, word);
    sl_graph_add_arc(builder, &walk->arc);
    walk->arc.from = walk->arc.to;
}

void sl_graph_add_phrase(struct sl_graph_builder *builder, const struct sl_phrasebook *book,
                         size_t phrase, const struct sl_pattern *pattern)
{
    struct walk walk = {.first = builder->n_arcs, .arc = {.phrase = phrase}};
    for (size_t i = 0; i < pattern->n_items; i++) {
        const struct sl_pattern_item *item = &pattern->items[i];
        switch (item->kind) {
        case SL_PATTERN_WORD:
            add_word(builder, &walk, item->text);
            break;
        case SL_PATTERN_SLOT:
            walk.arc.from = add_slot(builder, book, item->text, &walk.arc);
            break;
        case SL_PATTERN_OPTIONAL:
        case SL_PATTERN_CHOICE:
            open_bracket(&walk, item->kind == SL_PATTERN_OPTIONAL);
            break;
        case SL_PATTERN_OR:
            end_alternative(builder, &walk);
            break;
        case SL_PATTERN_CLOSE:
            close_bracket(builder, &walk);
            break;
        }
    }
    sl_graph_redirect(builder, walk.first, walk.arc.from, 0);
    if (!builder->no_memory && !builder->too_large) {
        sl_graph_tidy(builder, walk.first);
    }
}

void sl_graph_builder_clear(struct sl_graph_builder *builder)
{
    for (size_t i = 0; i < builder->n_words; i++) {
        free(builder->words[i]);
    }
    free(builder->words);
    free(builder->arcs);
    *builder = (struct sl_graph_builder){0};
}
