/*
 * The page of a plan, to print and to take to the car: markers in seconds and in metres, what is
 * right to say, the last point at which a stop still fits, the cautions. One sheet of A4.
 */
#ifndef SL_REPORT_PLAN_PAGE_H
#define SL_REPORT_PLAN_PAGE_H

#include "report/table.h"

/* Makes the page; the caller frees. SL_NO_MEMORY. */
enum sl_status sl_plan_page(const struct sl_plan_view *view, char **html, struct sl_error *error);

#endif
