/*
 * A sound check in words.
 */
#ifndef SL_REPORT_SOUND_TABLE_H
#define SL_REPORT_SOUND_TABLE_H

#include "core/heard.h"
#include "core/sound_findings.h"
#include "core/str.h"
#include "report/table.h"

/* The figures, what was heard, and what to change. */
void sl_report_sound(struct sl_str *out, const struct sl_sound_figures *figures, unsigned findings,
                     const struct sl_heard_list *heard, const struct sl_style *style);

#endif
