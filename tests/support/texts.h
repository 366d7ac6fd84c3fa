/*
 * A set of texts, each once. Include after cmocka.
 */
#ifndef SL_TESTS_TEXTS_H
#define SL_TESTS_TEXTS_H

#include "core/str.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Initialise with {0}; release with clear_texts. */
struct texts {
    char **items;
    size_t count;
};

static inline bool has_text(const struct texts *texts, const char *text)
{
    for (size_t i = 0; i < texts->count; i++) {
        if (strcmp(texts->items[i], text) == 0) {
            return true;
        }
    }
    return false;
}

static inline void add_text(struct texts *texts, const char *text)
{
    if (has_text(texts, text)) {
        return;
    }
    char **items = realloc(texts->items, (texts->count + 1) * sizeof *items);
    assert_non_null(items);
    texts->items = items;
    items[texts->count++] = sl_strdup(text);
}

static inline void clear_texts(struct texts *texts)
{
    for (size_t i = 0; i < texts->count; i++) {
        free(texts->items[i]);
    }
    free(texts->items);
    *texts = (struct texts){0};
}

#endif
