/*
 * The page of a run: the picture, the same as a table, every fault with its reason, the score.
 */
#ifndef SL_REPORT_RUN_PAGE_H
#define SL_REPORT_RUN_PAGE_H

#include "core/envelope.h"
#include "report/table.h"

/* Makes the page; the caller frees. `wave` may be NULL. `sound` is where the sound lies, relative
 * to the page, as a path with slashes; NULL: it is not to be played. SL_NO_MEMORY. */
enum sl_status sl_run_page(const struct sl_mark_view *view, const struct sl_envelope *wave,
                           const char *sound, char **html, struct sl_error *error);

#endif
