/*
 * "Did you mean ...?": the nearest of the known words.
 */
#ifndef SL_FILES_NEAR_H
#define SL_FILES_NEAR_H

#include <stddef.h>

/*
 * The word that needs the fewest edits (insert, delete, change a letter, swap two neighbours:
 * optimal string alignment), the first of equals; NULL when none is near enough (more than a third
 * of the longer word's letters, at least 2) or a word is longer than 64 bytes. NULL entries of
 * `words` are passed over.
 */
const char *sl_nearest(const char *word, const char *const *words, size_t n_words);

#endif
