/*
 * Whole numbers in words, as they are said: "two hundred and forty".
 */
#ifndef SL_CORE_NUMBER_WORDS_H
#define SL_CORE_NUMBER_WORDS_H

#include "core/str.h"

#define SL_NUMBER_WORDS_MAX 9999U

/* Adds `number` in lower case words, British usage ("and" before tens and ones, a hyphen between
 * them). Above SL_NUMBER_WORDS_MAX it is added in digits. */
void sl_add_number_words(struct sl_str *out, unsigned number);

#endif
