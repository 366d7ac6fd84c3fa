/*
 * What the reports of a drive say in the same words.
 */
#ifndef SL_REPORT_DRIVE_WORDS_H
#define SL_REPORT_DRIVE_WORDS_H

#include "core/drive.h"
#include "core/situation.h"
#include "core/str.h"

#include <stddef.h>

/* Where nothing came of the words but that. */
#define SL_DRIVE_AS_PLANNED "The words brought the car to the line as planned."

/* What a report of a drive shows; nothing is owned. */
struct sl_drive_view {
    const char *file;
    const struct sl_driving *driving;
    const struct sl_drive *drive;
    const struct sl_drive_change *change;
    const struct sl_situation *others; /* NULL: nobody else was there */
};

/* Adds where the car was at the end, how fast, in which gear, with how much rolling. */
void sl_drive_end(struct sl_str *out, const struct sl_drive_view *view);

/* Adds the same of the plan. */
void sl_drive_planned(struct sl_str *out, const struct sl_drive_view *view);

/* Adds what one change would have done, in figures; that nothing was to change; or that no single
 * change helps. */
void sl_drive_one(struct sl_str *out, const struct sl_drive_view *view);

/* Adds what was called out by others, with its moments. */
void sl_drive_others(struct sl_str *out, const struct sl_drive_view *view);

/* Adds a consequence: "Gear, gear late: ..." with what was unclear. */
void sl_drive_consequence(struct sl_str *out, const struct sl_drive_view *view, size_t index);

/* A phrase that the car followed. */
struct sl_drive_phrase {
    const struct sl_heard *heard;
    double at_s;                /* on the plan's clock */
    struct sl_drive_sample car; /* there and then */
};

/* The next phrase after *next that is a phase's; false at the end. Unclear ones are among them. */
bool sl_drive_next_phrase(const struct sl_drive_view *view, size_t *next,
                          struct sl_drive_phrase *phrase);

#endif
