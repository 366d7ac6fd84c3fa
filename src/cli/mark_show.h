/*
 * What comes of the recordings of `sayline mark`: tables or JSON lines, progress, pages, the
 * history.
 */
#ifndef SL_CLI_MARK_SHOW_H
#define SL_CLI_MARK_SHOW_H

#include "cli/mark_files.h"
#include "cli/mark_keep.h"
#include "cli/mark_pages.h"
#include "cli/mark_settle.h"
#include "cli/shared.h"

#include <time.h>

/* What is shown and kept of the marks, and what came of it. Initialise with {0} but for what the
 * command line says. */
struct sl_mark_show {
    const struct sl_batch_file *files;
    struct sl_style style;
    const struct sl_settling *settling; /* NULL: nothing is settled now */
    const struct sl_setup_names *names; /* by file */
    struct sl_mark_keeping keeping;     /* without a history: nothing is kept */
    struct sl_mark_pages pages;         /* of the one recording */
    bool unkept;                        /* a mark could not be kept, or a page of it written */
    bool json;
    size_t marked, failed;
    double overall_sum;
    bool broken;       /* the results could not be written */
    enum sl_exit code; /* of the last failure */
    bool talkative;
    bool told; /* a line of progress stands on the terminal */
    struct timespec begun;
};

/* Marks the files and hands each mark out as it comes; of `batch` the jobs and whether settled
 * answers are used are read. Errors that concern no single file. */
enum sl_status sl_mark_show_files(struct sl_mark_show *marking, const struct sl_mark_files *files,
                                  struct sl_batch *batch, struct sl_error *error);

/* The last line of several. */
void sl_mark_show_sum(struct sl_mark_show *marking);

#endif
