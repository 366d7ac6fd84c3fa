/*
 * The picture of a run (SVG): the plan's windows over seconds and metres to the line, what was
 * said, the faults by their number in the report, and the sound's envelope beneath.
 */
#ifndef SL_REPORT_TIMELINE_H
#define SL_REPORT_TIMELINE_H

#include "core/envelope.h"
#include "report/table.h"
#include "report/xml.h"

/* The seconds after the announcement at the left and the right edge. An untimed mark has no plan's
 * clock: then they are seconds of the recording from view->from_s on. */
struct sl_timeline_span {
    double from_s, to_s;
};

struct sl_timeline_span sl_timeline_span(const struct sl_mark_view *view);

/* Adds the picture as an element; `wave` may be NULL. Its ids begin with "picture-". */
void sl_timeline_add(struct sl_xml *xml, const struct sl_mark_view *view,
                     const struct sl_envelope *wave);

/* The same of a plan: its windows with what is right to say in each. */
void sl_timeline_add_plan(struct sl_xml *xml, const struct sl_plan_view *view);

/* The picture of a run as a file of its own; the caller frees. SL_NO_MEMORY. */
enum sl_status sl_timeline_svg(const struct sl_mark_view *view, const struct sl_envelope *wave,
                               char **svg, struct sl_error *error);

#endif
