/*
 * The page of a learner's course: what is next, each phase as a picture and as a table, faults,
 * junctions, times.
 */
#ifndef SL_REPORT_PROGRESS_PAGE_H
#define SL_REPORT_PROGRESS_PAGE_H

#include "core/progress.h"

/* Makes the page; the caller frees. SL_NO_MEMORY. */
enum sl_status sl_progress_page(const struct sl_progress_view *view, char **html,
                                struct sl_error *error);

#endif
