/*
 * Homework: so many rehearsals or drives at some junctions by a day, and which runs count.
 */
#ifndef SL_CORE_HOMEWORK_H
#define SL_CORE_HOMEWORK_H

#include "core/prompting.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_HOMEWORK_ITEMS_MAX 50 /* junctions in a set, rehearsed or driven */
#define SL_HOMEWORK_RUNS_MAX 20  /* runs wanted at one of them */
#define SL_HOMEWORK_ANY_FAULTS (-1)

/* A day of the Gregorian calendar, years 1970 to 9999. */
struct sl_date {
    int year, month, day; /* month and day from 1 */
};

/* Reads YYYY-MM-DD (ISO 8601, extended format of a calendar date). False when the text is no such
 * day; then *date is untouched. */
bool sl_date_parse(const char *text, struct sl_date *date);

/* Days from one day to another; negative when `to` is the earlier. Both are right days. */
long sl_date_days(struct sl_date from, struct sl_date to);

/* Runs of a kind at one junction. Texts are owned. */
struct sl_homework_item {
    char *junction; /* a name, or a path that holds from the folder the program runs in */
    char *name;     /* of the junction, as in marks: each once in a set as a rehearsal, and once as
                       a drive */
    bool drive;     /* the words drive a car (core/drive.h), else it is a rehearsal */
    enum sl_prompting prompting; /* SL_PROMPTING_NONE of a drive */
    int runs;                    /* wanted: 1 to SL_HOMEWORK_RUNS_MAX */
};

/* Initialise with {0}; release with sl_homework_clear. Texts are owned. */
struct sl_homework {
    char *name, *title;  /* title NULL: none */
    char *routine, *car; /* as the junctions: names or paths */
    char *routine_name;  /* as in marks */
    bool due_known;
    struct sl_date due;
    double least_score; /* a run counts from this score on: 0 to 100 */
    int most_faults;    /* and up to so many faults; SL_HOMEWORK_ANY_FAULTS: any number */
    struct sl_homework_item *items;
    size_t n_items, items_room;
};

void sl_homework_clear(struct sl_homework *set);

/* What became of a run; nothing is owned. */
struct sl_homework_run {
    const char *junction, *routine; /* names */
    enum sl_prompting prompting;
    bool finished; /* recorded to its planned end */
    bool marked;
    double score; /* overall, 0 to 100 */
    size_t faults;
    bool driven;
    uint64_t came_of; /* of a drive that is marked: sl_drive_came_of */
};

/* The item that a run is for, or n_items: by the names of junction and routine, and its kind. */
size_t sl_homework_item_of(const struct sl_homework *set, const struct sl_homework_run *run);

/*
 * NULL when the run counts, else why it does not, in words that finish "does not count: ". A run
 * counts when it is for a junction of the set and of the kind wanted there, was helped no more than
 * the set says, was recorded to its end and marked, its score and faults are within the set's
 * bounds, and in a drive no instructor would have had to step in (sl_came_of_danger).
 */
const char *sl_homework_objection(const struct sl_homework *set, const struct sl_homework_run *run);

/* How far the homework is. Initialise with {0}, then add runs in any order. */
struct sl_homework_state {
    int counted[SL_HOMEWORK_ITEMS_MAX]; /* runs that count, by item; may be more than wanted */
    size_t uncounted;
};

void sl_homework_add(struct sl_homework_state *state, const struct sl_homework *set,
                     const struct sl_homework_run *run);

/* Runs still to do at an item, and in all. */
int sl_homework_left(const struct sl_homework *set, const struct sl_homework_state *state,
                     size_t item);
int sl_homework_left_in_all(const struct sl_homework *set, const struct sl_homework_state *state);

#endif
