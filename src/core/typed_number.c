#include "core/typed_number.h"

#include "core/car.h"
#include "core/number_words.h"
#include "core/units.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define FIGURES_MAX 3
#define BARE_SPEED_MIN 4.0 /* below it a bare number is a gear */

struct number {
    double value;
    bool in_figures;
    size_t length;
};

static struct number number_at(const char *at)
{
    size_t figures = strspn(at, "0123456789");
    if (figures == 0) {
        unsigned value = 0;
        size_t length = sl_number_words_at(at, &value);
        return (struct number){.value = value, .length = length};
    }
    size_t length = figures;
    if (at[length] == '.' && isdigit((unsigned char)at[length + 1])) {
        length += 1 + strspn(at + length + 1, "0123456789");
    }
    if (figures > FIGURES_MAX) {
        return (struct number){0};
    }
    return (struct number){.value = strtod(at, NULL), .in_figures = true, .length = length};
}

/* The length of the first of the words that stand at a place; 0: none does. */
static size_t one_of(const char *at, const char *const *words)
{
    size_t length = 0;
    for (; *words != NULL && length == 0; words++) {
        length = sl_words_at(at, *words);
    }
    return length;
}

/* A unit of speed behind a number, and how many m/s it is. */
static size_t unit_at(const char *at, double *mps)
{
    static const char *const miles[] = {
        "mph",          "m.p.h.",        "m.p.h", "miles an hour", "miles per hour",
        "mile an hour", "mile per hour", NULL};
    static const char *const kilometres[] = {
        "km/h", "kmh", "kph", "kilometres an hour", "kilometres per hour", NULL};
    size_t gap = strspn(at, " -");
    size_t length = one_of(at + gap, miles);
    *mps = sl_mps_from_mph(1.0);
    if (length == 0) {
        length = one_of(at + gap, kilometres);
        *mps = 1.0 / 3.6;
    }
    return length == 0 ? 0 : gap + length;
}

/* Whether what stands before `at` is the word. */
static bool behind(const char *text, const char *at, const char *word)
{
    size_t length = strlen(word);
    while (at > text && strchr(" :=-", at[-1]) != NULL) {
        at--;
    }
    if ((size_t)(at - text) < length) {
        return false;
    }
    const char *begin = at - length;
    return sl_words_at(begin, word) > 0 && (begin == text || !isalnum((unsigned char)begin[-1]));
}

/* The length of "gear" behind a number, where it is not the beginning of "gear 2". */
static size_t gear_behind(const char *at)
{
    size_t gap = strspn(at, " -");
    size_t length = sl_words_at(at + gap, "gear");
    if (length == 0) {
        return 0;
    }
    size_t next = gap + length + strspn(at + gap + length, " :=-");
    return number_at(at + next).length > 0 ? 0 : gap + length;
}

/* "1st", "second", with "gear" behind it or not. */
static size_t ordinal_at(const char *at, int *gear)
{
    static const char *const ends[] = {"st", "nd", "rd", "th", NULL};
    size_t length = 0;
    if (*at >= '1' && *at < '1' + SL_GEAR_MAX) {
        size_t end = one_of(at + 1, ends);
        *gear = *at - '0';
        length = end > 0 ? 1 + end : 0;
    }
    for (int i = 1; i <= SL_GEAR_MAX && length == 0; i++) {
        length = sl_words_at(at, sl_gear_ordinal(i));
        *gear = i;
    }
    return length == 0 ? 0 : length + gear_behind(at + length);
}

static bool measures_else(const char *at)
{
    static const char *const units[] = {"s",     "sec",    "secs",   "seconds", "m",
                                        "metre", "metres", "meters", "yards",   NULL};
    return one_of(at + strspn(at, " -"), units) > 0 || isalpha((unsigned char)*at);
}

/* A number without a unit and without "gear" beside it. */
static size_t bare(const struct number *number, const char *end, bool speed,
                   struct sl_settings *settings)
{
    if (measures_else(end)) {
        return 0;
    }
    if (speed || number->value >= BARE_SPEED_MIN) {
        settings->speed_mps = sl_mps_from_mph(number->value);
    } else if (number->in_figures && number->value == floor(number->value)) {
        settings->gear = (int)number->value;
    } else {
        return 0;
    }
    return number->length;
}

size_t sl_typed_number(const char *text, const char *at, struct sl_settings *settings)
{
    if (at > text && (isalnum((unsigned char)at[-1]) || at[-1] == '.')) {
        return 0; /* within a word or a number */
    }
    struct sl_settings told = {0};
    size_t length = ordinal_at(at, &told.gear);
    if (length > 0) {
        *settings = told;
        return length;
    }
    struct number number = number_at(at);
    const char *end = at + number.length;
    double mps = 0;
    if (number.length == 0 || number.value <= 0) {
        return 0;
    }
    told = (struct sl_settings){0};
    size_t unit = unit_at(end, &mps);
    size_t gear = gear_behind(end);
    bool is_gear =
        unit == 0 && (behind(text, at, "gear") || (gear > 0 && number.value <= SL_GEAR_MAX));
    if (unit > 0) {
        told.speed_mps = number.value * mps;
        length = number.length + unit;
    } else if (is_gear && number.value <= SL_GEAR_MAX && number.value == floor(number.value)) {
        told.gear = (int)number.value;
        length = number.length + gear;
    } else if (!is_gear) {
        length = bare(&number, end, behind(text, at, "speed"), &told);
    }
    *settings = length > 0 ? told : *settings;
    return length;
}
