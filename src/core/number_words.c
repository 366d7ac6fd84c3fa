#include "core/number_words.h"

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
