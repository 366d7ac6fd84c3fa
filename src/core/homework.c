#include "core/homework.h"

#include "core/drive.h"

#include <stdlib.h>
#include <string.h>

#define FIRST_YEAR 1970

static bool leap(int year)
{
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static int days_in(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && leap(year) ? 1 : 0);
}

/* The figure that `n` digits make; -1 where another character is among them. */
static int digits(const char *text, size_t n)
{
    int value = 0;
    for (size_t i = 0; i < n; i++) {
        if (text[i] < '0' || text[i] > '9') {
            return -1;
        }
        value = 10 * value + (text[i] - '0');
    }
    return value;
}

bool sl_date_parse(const char *text, struct sl_date *date)
{
    if (strlen(text) != strlen("YYYY-MM-DD") || text[4] != '-' || text[7] != '-') {
        return false;
    }
    struct sl_date read = {digits(text, 4), digits(text + 5, 2), digits(text + 8, 2)};
    if (read.year < FIRST_YEAR || read.month < 1 || read.month > 12 || read.day < 1 ||
        read.day > days_in(read.year, read.month)) {
        return false;
    }
    *date = read;
    return true;
}

static long since_first(struct sl_date date)
{
    long days = date.day - 1;
    for (int year = FIRST_YEAR; year < date.year; year++) {
        days += leap(year) ? 366 : 365;
    }
    for (int month = 1; month < date.month; month++) {
        days += days_in(date.year, month);
    }
    return days;
}

long sl_date_days(struct sl_date from, struct sl_date to)
{
    return since_first(to) - since_first(from);
}

void sl_homework_clear(struct sl_homework *set)
{
    for (size_t i = 0; i < set->n_items; i++) {
        free(set->items[i].junction);
        free(set->items[i].name);
    }
    free(set->items);
    free(set->name);
    free(set->title);
    free(set->routine);
    free(set->car);
    free(set->routine_name);
    *set = (struct sl_homework){0};
}

size_t sl_homework_item_of(const struct sl_homework *set, const struct sl_homework_run *run)
{
    size_t item = 0;
    while (item < set->n_items && (strcmp(set->items[item].name, run->junction) != 0 ||
                                   set->items[item].drive != run->driven)) {
        item++;
    }
    return strcmp(set->routine_name, run->routine) == 0 ? item : set->n_items;
}

/* Why a run is for no item. */
static const char *no_item(const struct sl_homework *set, const struct sl_homework_run *run)
{
    struct sl_homework_run other = *run;
    other.driven = !run->driven;
    if (sl_homework_item_of(set, &other) == set->n_items) {
        return "its junction or routine is not in the set";
    }
    return run->driven ? "it was driven, and the set wants it rehearsed"
                       : "it was rehearsed, and the set wants it driven";
}

const char *sl_homework_objection(const struct sl_homework *set, const struct sl_homework_run *run)
{
    size_t item = sl_homework_item_of(set, run);
    if (item == set->n_items) {
        return no_item(set, run);
    }
    if (!run->finished) {
        return "it was not recorded to its end";
    }
    if (run->prompting < set->items[item].prompting) {
        return "it was helped more than the set says";
    }
    if (!run->marked) {
        return "it is not marked";
    }
    if (run->score < set->least_score) {
        return "its score is too low";
    }
    if (set->most_faults != SL_HOMEWORK_ANY_FAULTS && run->faults > (size_t)set->most_faults) {
        return "it has too many faults";
    }
    if (run->driven && sl_came_of_danger(run->came_of)) {
        return "an instructor would have had to step in";
    }
    return NULL;
}

void sl_homework_add(struct sl_homework_state *state, const struct sl_homework *set,
                     const struct sl_homework_run *run)
{
    if (sl_homework_objection(set, run) == NULL) {
        state->counted[sl_homework_item_of(set, run)]++;
    } else {
        state->uncounted++;
    }
}

int sl_homework_left(const struct sl_homework *set, const struct sl_homework_state *state,
                     size_t item)
{
    int left = set->items[item].runs - state->counted[item];
    return left > 0 ? left : 0;
}

int sl_homework_left_in_all(const struct sl_homework *set, const struct sl_homework_state *state)
{
    int left = 0;
    for (size_t item = 0; item < set->n_items; item++) {
        left += sl_homework_left(set, state, item);
    }
    return left;
}
