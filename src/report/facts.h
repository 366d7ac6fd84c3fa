/*
 * Facts that both reports state: the junction in words, gears, the caution.
 */
#ifndef SL_REPORT_FACTS_H
#define SL_REPORT_FACTS_H

#include "core/junction.h"
#include "core/plan.h"
#include "core/str.h"

/* Width that labels take, so that facts stand below each other. */
#define SL_LABEL "%-10s "

/* Adds "t-left-open: TITLE". */
void sl_fact_name(struct sl_str *text, const struct sl_junction *junction);

/* Adds "T-junction, from the minor road; turning left; give way; open view". */
void sl_fact_kind(struct sl_str *text, const struct sl_junction *junction,
                  const struct sl_plan *plan);

/* Two facts: "t-left-open: TITLE" and "T-junction, from the minor road; turning left; give way;
 * open view". */
void sl_fact_junction(struct sl_str *out, const struct sl_junction *junction,
                      const struct sl_plan *plan, int width);

/* Adds "LABEL TEXT" with the label padded; wrapped to `width`. */
void sl_fact(struct sl_str *out, const char *label, const char *text, int width);

/* Coaching figures; practise parked or at home; the Highway Code and the instructor come first. */
void sl_fact_caution(struct sl_str *out, int width);

/* Width to wrap to: the style's, within what can be read (40 to 100). */
int sl_fact_width(int width);

#endif
