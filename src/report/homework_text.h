/*
 * What is done of a homework set and what is left, as text.
 */
#ifndef SL_REPORT_HOMEWORK_TEXT_H
#define SL_REPORT_HOMEWORK_TEXT_H

#include "core/homework.h"
#include "report/table.h"

/* Adds the title, when it is due, and a line a junction. `today` NULL: not known. */
void sl_report_homework(struct sl_str *out, const struct sl_homework *set,
                        const struct sl_homework_state *state, const struct sl_date *today,
                        const struct sl_style *style);

#endif
