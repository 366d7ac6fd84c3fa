#include "files/near.h"

#include <string.h>

#define LENGTH_MAX 64

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Rows of the table of distances: of the prefixes of `a` to every prefix of `b`. */
struct rows {
    size_t row[LENGTH_MAX + 1], above[LENGTH_MAX + 1], two_above[LENGTH_MAX + 1];
};

/* Fills the row of the first `i` letters of `a` (i >= 1) from the two above it. */
static void fill_row(struct rows *rows, const char *a, size_t i, const char *b)
{
    rows->row[0] = i;
    for (size_t j = 1; b[j - 1] != '\0'; j++) {
        size_t change = rows->above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
        rows->row[j] = least(change, least(rows->above[j], rows->row[j - 1]) + 1);
        if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
            rows->row[j] = least(rows->row[j], rows->two_above[j - 2] + 1);
        }
    }
}

/* Optimal string alignment distance; both words at most LENGTH_MAX long. */
static size_t distance(const char *a, const char *b)
{
    struct rows rows = {{0}, {0}, {0}};
    size_t length_a = strlen(a);
    for (size_t j = 0; j <= strlen(b); j++) {
        rows.row[j] = j;
    }
    for (size_t i = 1; i <= length_a; i++) {
        memcpy(rows.two_above, rows.above, sizeof(rows.above));
        memcpy(rows.above, rows.row, sizeof(rows.row));
        fill_row(&rows, a, i, b);
    }
    return rows.row[strlen(b)];
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
