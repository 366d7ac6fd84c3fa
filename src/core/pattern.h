/*
 * One pattern of the phrasebook taken apart into a flat list. Used inside the core only; the
 * pattern language is described in phrasebook.h.
 */
#ifndef SL_CORE_PATTERN_H
#define SL_CORE_PATTERN_H

#include "core/status.h"

#include <stddef.h>

#define SL_PATTERN_DEPTH_MAX 8     /* brackets inside brackets */
#define SL_PATTERN_LENGTH_MAX 1000 /* bytes; far beyond what anyone says in one breath */

enum sl_pattern_kind {
    SL_PATTERN_WORD,     /* a word */
    SL_PATTERN_SLOT,     /* <name> */
    SL_PATTERN_OPTIONAL, /* [ */
    SL_PATTERN_CHOICE,   /* ( */
    SL_PATTERN_OR,       /* | */
    SL_PATTERN_CLOSE     /* ] or ) */
};

struct sl_pattern_item {
    enum sl_pattern_kind kind;
    char *text;    /* the word, or the slot's name; NULL for the rest; owned by the list */
    size_t column; /* in the pattern, from 1, in characters */
};

/* Initialise with {0}; release with sl_pattern_clear. */
struct sl_pattern {
    struct sl_pattern_item *items;
    size_t n_items;
    size_t room;
};

/*
 * Takes a pattern apart. SL_INVALID names what is wrong and how to mend it, `where` holds pattern
 * and column, and *column (may be NULL) the column. Whether a slot exists is not checked here. What
 * is returned is balanced, has no empty alternative and cannot be said without a word.
 */
enum sl_status sl_pattern_parse(const char *text, struct sl_pattern *pattern, size_t *column,
                                struct sl_error *error);

/* Fills the error for an offence at `column` of a pattern; returns SL_INVALID. `what` and `mend`
 * are whole sentences without a full stop. */
enum sl_status sl_pattern_fail(const char *text, size_t column, const char *what, const char *mend,
                               struct sl_error *error);

void sl_pattern_clear(struct sl_pattern *pattern);

#endif
