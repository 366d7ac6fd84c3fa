/*
 * The files that `sayline mark` makes of a marked recording: page, picture, subtitles, labels.
 */
#ifndef SL_CLI_MARK_PAGES_H
#define SL_CLI_MARK_PAGES_H

#include "report/table.h"

/* Paths of the command line; NULL: not wanted. */
struct sl_mark_pages {
    const char *html, *svg, *vtt, *textgrid;
};

bool sl_mark_pages_wanted(const struct sl_mark_pages *pages);

/* Writes what is wanted, each whole or not at all; `sound` is the recording ("-": there is none to
 * draw or play). Errors of reading the sound and of writing. */
enum sl_status sl_mark_pages_write(const struct sl_mark_pages *pages,
                                   const struct sl_mark_view *view, const char *sound,
                                   struct sl_error *error);

#endif
