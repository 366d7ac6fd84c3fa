/*
 * What shows a rehearsal while it runs: a table of functions with two makers, lines of text
 * (screen_plain.c) and a full screen (screen_full.c).
 */
#ifndef SL_CLI_SCREEN_H
#define SL_CLI_SCREEN_H

#include "cli/shared.h"
#include "practice/rehearsal.h"

/* The run that is shown; nothing is owned. */
struct sl_screen_run {
    const struct sl_setup *setup;
    const char *recording;
    enum sl_prompting prompting;
    size_t number, of; /* of the runs of this session, from 1 */
    bool live_ear;     /* phrases are heard live */
    bool drives;       /* they drive a car; nothing tells when to say what */
};

struct sl_screen {
    /* A run is about to begin. */
    void (*begin)(void *self, const struct sl_screen_run *run);
    void (*event)(void *self, const struct sl_event *event);
    /* The run is over, or could not begin: the terminal is as it was before. Twice is fine. */
    void (*end)(void *self);
    void (*free)(void *self);
    void *self;
};

/* One line an event on standard output; `quiet`: nothing at all. SL_NO_MEMORY. */
enum sl_status sl_screen_plain(bool quiet, struct sl_screen *screen, struct sl_error *error);

/* The whole terminal (ncursesw). SL_UNSUPPORTED when the terminal cannot do it. */
enum sl_status sl_screen_full(struct sl_screen *screen, struct sl_error *error);

/* "T-junction, turning left: one line on the junction", added to *out. */
void sl_screen_title(struct sl_str *out, const struct sl_setup *setup);

/* What a notice among the events says to people; NULL for events that are none. */
const char *sl_screen_note(enum sl_event_kind kind);

#endif
