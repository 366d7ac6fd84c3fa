/*
 * A drive for the terminal: the end, what came of the words, what one change would have done, and
 * where the car was at every phrase.
 */
#ifndef SL_REPORT_DRIVE_TEXT_H
#define SL_REPORT_DRIVE_TEXT_H

#include "report/drive_words.h"
#include "report/table.h"

/* Adds the whole text; with style->brief only the end, the consequences and the change. */
void sl_report_drive(struct sl_str *out, const struct sl_drive_view *view,
                     const struct sl_style *style);

#endif
