/*
 * A learner's progress for the terminal.
 */
#ifndef SL_REPORT_PROGRESS_TEXT_H
#define SL_REPORT_PROGRESS_TEXT_H

#include "core/progress.h"
#include "core/str.h"
#include "report/table.h"

/* Adds the whole text: what to do next first, then tables, which become lists on a narrow screen;
 * without a run, that there is none, and how recall goes. Brief: what to do next alone. */
void sl_report_progress(struct sl_str *out, const struct sl_progress_view *view,
                        const struct sl_style *style);

#endif
