/*
 * Many marks added up, as text.
 */
#ifndef SL_REPORT_TALLY_TABLE_H
#define SL_REPORT_TALLY_TABLE_H

#include "core/tally.h"
#include "report/table.h"

/* Adds the totals of a sorted tally by phase and, unless the style is brief, a line a recording. */
void sl_report_tally(struct sl_str *out, const struct sl_tally *tally,
                     const struct sl_style *style);

#endif
