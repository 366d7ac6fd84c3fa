/*
 * What every report of a mark says of a phase in the same words.
 */
#ifndef SL_REPORT_MARK_WORDS_H
#define SL_REPORT_MARK_WORDS_H

#include "report/table.h"
#include "report/text.h"

/* The words heard for a phase, corrections among them; the settings in words when there are none;
 * "(not heard)". The caller frees; NULL when memory runs out. */
char *sl_mark_said(const struct sl_mark_view *view, size_t phase);

/* The words of the phase's faults, or that it is right; *tint goes with them. The caller frees;
 * NULL when memory runs out. */
char *sl_mark_verdict(const struct sl_mark *mark, size_t phase, enum sl_tint *tint);

/* A setting that was put right in time, in a sentence. The caller frees; NULL when memory runs out.
 */
char *sl_mark_correction(const struct sl_mark_view *view, size_t phase);

/* Adds "30 mph down to 10 mph in second gear", for a timed mark with the approach's length. */
void sl_mark_plan(struct sl_str *out, const struct sl_mark_view *view);

#endif
