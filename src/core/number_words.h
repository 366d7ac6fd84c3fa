/*
 * Whole numbers in words, as they are said, "two hundred and forty", and as they are typed.
 */
#ifndef SL_CORE_NUMBER_WORDS_H
#define SL_CORE_NUMBER_WORDS_H

#include "core/str.h"

#define SL_NUMBER_WORDS_MAX 9999U

/* Adds `number` in lower case words, British usage ("and" before tens and ones, a hyphen between
 * them). Above SL_NUMBER_WORDS_MAX it is added in digits. */
void sl_add_number_words(struct sl_str *out, unsigned number);

/* The length of `words` where `text` begins with them, in any case, 0 where it does not or a word
 * goes on behind them. A space in `words` stands for spaces or a hyphen. */
size_t sl_words_at(const char *text, const char *words);

/* The length of a number in words, one to ninety-nine, with which `text` begins; 0: none. Sets
 * *number where there is one. */
size_t sl_number_words_at(const char *text, unsigned *number);

#endif
