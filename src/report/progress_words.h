/*
 * What every report of progress says in the same words. The texts are the caller's to free; NULL
 * when memory runs out, "" where there is nothing to say.
 */
#ifndef SL_REPORT_PROGRESS_WORDS_H
#define SL_REPORT_PROGRESS_WORDS_H

#include "core/progress.h"
#include "report/text.h"

/* "18 of 20 (70 to 97 %)"; without a range "18 of 20"; "-" of none. */
char *sl_progress_share(const struct sl_share *share, const struct sl_interval *range);

/* "-0.4 to +1.2", and "+0.4" of the middle; "-" of none. */
char *sl_progress_half(const struct sl_spread *spread);
char *sl_progress_middle(const struct sl_spread *spread);

const char *sl_progress_trend(enum sl_trend trend);
enum sl_tint sl_progress_trend_tint(enum sl_trend trend);

char *sl_progress_runs(const struct sl_progress_view *view);    /* how many, and what "lately" is */
char *sl_progress_next(const struct sl_progress_view *view);    /* what to practise next, and why */
char *sl_progress_rolling(const struct sl_progress_view *view); /* kept before the line */
char *sl_progress_unclear(const struct sl_progress_view *view);
char *sl_progress_recall(const struct sl_progress_view *view);
char *sl_progress_none(const struct sl_progress_view *view);     /* where there is no run */
char *sl_progress_prompting(const struct sl_progress *progress); /* stay, drop a level, go back */

#endif
