/*
 * `sayline mark --settle` and `--settle-as`: the instructor's decisions about what is unclear.
 */
#ifndef SL_CLI_MARK_SETTLE_H
#define SL_CLI_MARK_SETTLE_H

#include "practice/mark_batch.h"

/* Nothing is owned. */
struct sl_settling {
    const char *answers; /* "gear=right,signal=missed"; NULL: asked for, phase by phase */
    const char *by;      /* who decides; NULL: not said */
};

/* Whether answers can be read, before anything is listened to; a phase is only known with its
 * routine. SL_INVALID, SL_NO_MEMORY. */
enum sl_status sl_settle_answers_check(const char *answers, struct sl_error *error);

/*
 * Takes the decisions about the attempt's unclear phases, marks it anew with them and keeps them
 * beside the recording, those of an earlier time that are not decided anew among them. The attempt
 * is the machine's own. Questions go to standard error, answers are lines of standard input, whose
 * end leaves the rest unclear. SL_INVALID, with `where` "--settle-as", for answers that cannot be
 * read; SL_INVALID for a phase that is not unclear, and as sl_settle; else as sl_settled_save.
 */
enum sl_status sl_mark_settle(const struct sl_settling *settling, const struct sl_batch_file *file,
                              struct sl_attempt *attempt, struct sl_error *error);

#endif
