/*
 * What is told of a drive, whether its words came from a recording or were said just now.
 */
#ifndef SL_CLI_DRIVE_REPORT_H
#define SL_CLI_DRIVE_REPORT_H

#include "cli/shared.h"
#include "core/drive.h"

/* How it is told; nothing is owned. */
struct sl_drive_telling {
    const char *file; /* the recording, as it was given; "-": standard input */
    const char *html; /* the page to be written, or NULL */
    bool json;        /* else text */
    struct sl_style style;
};

/* Drives what was heard and adds what came of it to *out; `others` NULL: nobody else is there.
 * Errors of sl_drive_make and of writing the page. */
enum sl_status sl_drive_tell_all(const struct sl_drive_telling *telling,
                                 const struct sl_driving *driving,
                                 const struct sl_situation *others, struct sl_str *out,
                                 struct sl_error *error);

#endif
