/*
 * Tables and sentences for the terminal, as plain text: readable without colour and by a screen
 * reader.
 */
#ifndef SL_REPORT_TABLE_H
#define SL_REPORT_TABLE_H

#include "core/heard.h"
#include "core/levels.h"
#include "core/marking.h"
#include "core/plan.h"
#include "core/str.h"

#include <stdbool.h>

struct sl_style {
    bool colour; /* ANSI colours; every colour also has a word */
    bool brief;  /* a mark: file, notices, faults and score only */
    int width;   /* of the terminal in columns; 80 when unknown; taken as 40 to 100 */
};

/* What the mark table shows; nothing is owned. */
struct sl_mark_view {
    const char *file;
    const struct sl_routine *routine;
    const struct sl_junction *junction;
    const struct sl_plan *plan;
    const struct sl_level_report *levels;
    const struct sl_heard_list *heard;
    const struct sl_mark *mark;
    double from_s; /* where on the sound's clock the junction was announced */
};

/* Adds the whole text of a marked recording to *out. */
void sl_report_mark(struct sl_str *out, const struct sl_mark_view *view,
                    const struct sl_style *style);

/* What the plan table shows; nothing is owned. */
struct sl_plan_view {
    const struct sl_plan *plan;
    const struct sl_junction *junction;
    const struct sl_routine *routine;
    const struct sl_car *car;
};

/* Adds the whole text of a plan to *out. */
void sl_report_plan(struct sl_str *out, const struct sl_plan_view *view,
                    const struct sl_style *style);

#endif
