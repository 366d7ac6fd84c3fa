/*
 * The two ways in which `sayline recall` asks: answers typed on standard input, or spoken.
 */
#ifndef SL_CLI_RECALL_ASKERS_H
#define SL_CLI_RECALL_ASKERS_H

#include "core/recall.h"
#include "practice/recall_listen.h"
#include "practice/recall_run.h"
#include "report/table.h"

#include <stdbool.h>

/* What a session needs for asking and telling. Nothing is owned but `heard` and `line`. */
struct sl_recall_talk {
    const struct sl_recall_stock *stock;
    struct sl_style style;
    bool json;          /* results as JSON on standard output, the questions on standard error */
    struct sl_ear *ear; /* NULL: nothing is spoken and nothing listened to */
    /* For the two phrasebooks of the stock; NULL with `typed`. */
    struct sl_recogniser *recogniser, *scene_recogniser;
    struct sl_listener *listener; /* of answers to settings, for their end */
    bool typed;                   /* answers come from standard input */
    bool broken;                  /* the results could not be written */
    struct sl_hearing heard;      /* the last spoken answer */
    char *line;                   /* the last typed one */
    size_t line_room;
};

void sl_recall_talk_clear(struct sl_recall_talk *talk);

/* The asker for it; `talk` must outlive it. */
struct sl_recall_asker sl_recall_asker_of(struct sl_recall_talk *talk);

/* True when Ctrl-D was pressed on a terminal: for sl_ear_setup.wants_end. */
bool sl_recall_terminal_ended(void *user);

#endif
