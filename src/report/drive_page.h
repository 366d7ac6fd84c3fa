/*
 * The page of a drive: the end, the picture, the car at every phrase as a table, what came of the
 * words with the reasons, what one change would have done.
 */
#ifndef SL_REPORT_DRIVE_PAGE_H
#define SL_REPORT_DRIVE_PAGE_H

#include "report/drive_words.h"

/* Makes the page; the caller frees. SL_NO_MEMORY. */
enum sl_status sl_drive_page(const struct sl_drive_view *view, char **html, struct sl_error *error);

#endif
