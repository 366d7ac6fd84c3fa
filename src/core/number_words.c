#include "core/number_words.h"

#include <ctype.h>
#include <string.h>

static const char *const ones[] = {"nought",  "one",     "two",       "three",    "four",
                                   "five",    "six",     "seven",     "eight",    "nine",
                                   "ten",     "eleven",  "twelve",    "thirteen", "fourteen",
                                   "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"};

static const char *const tens[] = {"",      "",      "twenty",  "thirty", "forty",
                                   "fifty", "sixty", "seventy", "eighty", "ninety"};

static void add_below_hundred(struct sl_str *out, unsigned number)
{
    if (number < 20) {
        sl_str_add(out, ones[number]);
        return;
    }
    sl_str_add(out, tens[number / 10]);
    if (number % 10 != 0) {
        sl_str_addf(out, "-%s", ones[number % 10]);
    }
}

void sl_add_number_words(struct sl_str *out, unsigned number)
{
    if (number > SL_NUMBER_WORDS_MAX) {
        sl_str_addf(out, "%u", number);
        return;
    }
    unsigned thousands = number / 1000;
    unsigned hundreds = number / 100 % 10;
    unsigned rest = number % 100;
    if (thousands > 0) {
        sl_str_addf(out, "%s thousand", ones[thousands]);
    }
    if (hundreds > 0) {
        sl_str_addf(out, "%s%s hundred", thousands > 0 ? " " : "", ones[hundreds]);
    }
    if (rest > 0 || number == 0) {
        sl_str_add(out, number >= 100 ? " and " : "");
        add_below_hundred(out, rest);
    }
}

/* Whether the characters are the same in any case. */
static bool same_letter(char a, char b)
{
    return (tolower)((unsigned char)a) == (tolower)((unsigned char)b);
}

size_t sl_words_at(const char *text, const char *words)
{
    const char *at = text;
    for (; *words != '\0'; words++) {
        if (*words == ' ') {
            size_t gap = strspn(at, " -");
            if (gap == 0) {
                return 0;
            }
            at += gap;
        } else if (!same_letter(*at++, *words)) {
            return 0;
        }
    }
    return isalnum((unsigned char)*at) ? 0 : (size_t)(at - text);
}

/* One of the words from `first` on; its index, 0 for none, and its length. */
static unsigned word_of(const char *text, const char *const *words, unsigned first, unsigned n,
                        size_t *length)
{
    for (unsigned i = first; i < n; i++) {
        *length = sl_words_at(text, words[i]);
        if (*length > 0) {
            return i;
        }
    }
    return 0;
}

size_t sl_number_words_at(const char *text, unsigned *number)
{
    size_t length = 0;
    unsigned ten = word_of(text, tens, 2, sizeof tens / sizeof *tens, &length);
    if (ten == 0) {
        unsigned one = word_of(text, ones, 1, sizeof ones / sizeof *ones, &length);
        *number = one > 0 ? one : *number;
        return length;
    }
    size_t gap = strspn(text + length, " -");
    size_t more = 0;
    unsigned one = gap == 0 ? 0 : word_of(text + length + gap, ones, 1, 10, &more);
    *number = 10 * ten + one;
    return one > 0 ? length + gap + more : length;
}
