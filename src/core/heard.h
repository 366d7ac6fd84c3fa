/*
 * What the recogniser heard: phrases with times on the sound's clock (seconds from the first
 * sample).
 */
#ifndef SL_CORE_HEARD_H
#define SL_CORE_HEARD_H

#include "core/settings.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* What an instructor decided about something unclear. */
enum sl_settled { SL_SETTLED_NOT, SL_SETTLED_RIGHT, SL_SETTLED_WRONG, SL_SETTLED_MISSED };

struct sl_heard {
    size_t phase; /* index into the routine's phases, or SL_PHRASE_FILLER / SL_PHRASE_CORRECTION */
    char *text;   /* the words, owned by the list */
    double start_s, end_s;
    double confidence;           /* 0 to 1: chance of being right */
    bool unclear;                /* below the recogniser's threshold */
    struct sl_settings settings; /* named by the words */
    enum sl_settled settled;     /* never of the recogniser: settling.h */
};

/* In order of start_s. Initialise with {0}. */
struct sl_heard_list {
    struct sl_heard *items;
    size_t count;
    size_t room;
};

/* Adds a phrase at the end; `heard->text` is copied. Speech that was not understood is added too
 * where it may have been a phrase: an unclear filler without words. */
enum sl_status sl_heard_add(struct sl_heard_list *list, const struct sl_heard *heard,
                            struct sl_error *error);

void sl_heard_clear(struct sl_heard_list *list);

#endif
