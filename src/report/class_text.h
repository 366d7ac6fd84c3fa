/*
 * What a class handed in, as text.
 */
#ifndef SL_REPORT_CLASS_TEXT_H
#define SL_REPORT_CLASS_TEXT_H

#include "core/submission.h"
#include "report/table.h"

/* Adds a line a bag, what differs and what was refused, the faults by phase, and what to teach
 * next. */
void sl_report_class(struct sl_str *out, const struct sl_class *group,
                     const struct sl_style *style);

#endif
