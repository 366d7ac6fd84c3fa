#include "files/near.h"

#include <string.h>

#define LENGTH_MAX 64

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Optimal string alignment distance; both words at most LENGTH_MAX long. */
static size_t distance(const char *a, const char *b)
{
    size_t rows[3][LENGTH_MAX + 1];
    size_t length_a = strlen(a);
    size_t length_b = strlen(b);
    for (size_t j = 0; j <= length_b; j++) {
        rows[0][j] = j;
    }
    for (size_t i = 1; i <= length_a; i++) {
        size_t *row = rows[i % 3];
        const size_t *above = rows[(i + 2) % 3];
        const size_t *two_above = rows[(i + 1) % 3];
        row[0] = i;
        for (size_t j = 1; j <= length_b; j++) {
            size_t change = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            row[j] = least(change, least(above[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                row[j] = least(row[j], two_above[j - 2] + 1);
            }
        }
    }
    return rows[length_a % 3][length_b];
}

const char *sl_nearest(const char *word, const char *const *words, size_t n_words)
{
    const char *nearest = NULL;
    size_t fewest = (size_t)-1;
    size_t length = strlen(word);
    if (length == 0 || length > LENGTH_MAX) {
        return NULL;
    }
    for (size_t i = 0; i < n_words; i++) {
        if (words[i] == NULL || strlen(words[i]) > LENGTH_MAX) {
            continue;
        }
        size_t longer = length > strlen(words[i]) ? length : strlen(words[i]);
        size_t edits = distance(word, words[i]);
        size_t allowed = longer / 3 > 2 ? longer / 3 : 2;
        if (edits < fewest && edits <= allowed && edits < longer) {
            fewest = edits;
            nearest = words[i];
        }
    }
    return nearest;
}
