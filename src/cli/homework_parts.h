/*
 * What the actions of `sayline homework` share: cmd_homework.c (options, making and checking a
 * set), homework_do.c (doing it).
 */
#ifndef SL_CLI_HOMEWORK_PARTS_H
#define SL_CLI_HOMEWORK_PARTS_H

#include "cli/rehearse.h"
#include "cli/shared.h"
#include "files/homework_file.h"

/* Of the command line; nothing is owned. */
struct sl_homework_options {
    const char *const *operands; /* after the action */
    size_t n_operands;
    const char *out;
    struct sl_rehearse_options rehearse; /* devices, voice, screen, --json, style */
};

/* Shows what is left of a set; the exit code. */
enum sl_exit sl_homework_show_left(const struct sl_homework_options *options);

/* Does what is left of a set and shows what is left then; all that is to be said was said. */
enum sl_exit sl_homework_do(const struct sl_homework_options *options);

/* The day by the clock and the time zone of the machine; false when it cannot be told. */
bool sl_homework_today(struct sl_date *today);

#endif
