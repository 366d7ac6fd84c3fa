/*
 * `sayline mark --keep`: marks go into the history.
 */
#ifndef SL_CLI_MARK_KEEP_H
#define SL_CLI_MARK_KEEP_H

#include "cli/shared.h"
#include "practice/keep.h"
#include "practice/mark_batch.h"

struct sl_mark_keeping {
    struct sl_history *history;
    const char *learner;
};

/* Keeps an attempt at a file whose task was loaded by these names. Errors as sl_keep_attempt. */
enum sl_status sl_mark_keep(const struct sl_mark_keeping *keeping,
                            const struct sl_setup_names *names, const struct sl_batch_file *file,
                            const struct sl_attempt *attempt, struct sl_error *error);

#endif
