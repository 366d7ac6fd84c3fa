/*
 * A command as data: its options, its help and the function that runs it. getopt_long's table and
 * the text of --help are both made from it.
 */
#ifndef SL_CLI_COMMAND_H
#define SL_CLI_COMMAND_H

#include "core/status.h"
#include "core/str.h"

#include <stdbool.h>
#include <stddef.h>

/* Exit codes of every command. */
enum sl_exit {
    SL_EXIT_DONE = 0,
    SL_EXIT_FAILED = 1, /* a file could not be used, or the results could not be written */
    SL_EXIT_USAGE = 2,  /* wrong use: unknown option, command or name */
    /* Commands with `device` only. */
    SL_EXIT_NO_DEVICE = 3,   /* no microphone or speaker, busy, or of no use */
    SL_EXIT_DEVICE_LOST = 4, /* it went away in the middle; what was recorded is kept */
    SL_EXIT_SIGNAL = 128 /* and the signal's number: ended by Ctrl-C (130) or another signal; what
                            was recorded is kept */
};

struct sl_option {
    const char *name;     /* without the dashes */
    char letter;          /* 0: none */
    const char *argument; /* its name in the help; NULL: takes none */
    const char *help;
};

#define SL_OPTION_MAX 24

struct sl_call;

struct sl_command {
    const char *name;
    const char *summary; /* one line, without a full stop */
    const char *usage;   /* what follows the name */
    const char *purpose; /* a paragraph */
    const struct sl_option *options;
    size_t n_options; /* at most SL_OPTION_MAX */
    size_t least_operands, most_operands;
    const char *operand;       /* what an operand is called, in messages */
    const char *example;       /* a whole command line that runs from the project's folder */
    const char *example_tells; /* what it shows */
    const char *exit_failed;   /* when exit code 1 comes */
    bool device;               /* uses a microphone or a speaker: exit codes 3 and more */
    enum sl_exit (*run)(const struct sl_call *call);
};

/* A command line, read. Nothing is owned but what argv owns. */
struct sl_call {
    const struct sl_command *command;
    const char
        *values[SL_OPTION_MAX]; /* by option; NULL: not given; "" when it takes no argument */
    const char *const *operands;
    size_t n_operands;
    bool help; /* --help was given: nothing else is checked */
};

/*
 * Reads argv (argv[0] is the command's name; the array is reordered). SL_INVALID for an unknown
 * option (the nearest is offered), a missing or needless argument, too few or many operands.
 */
enum sl_status sl_command_parse(const struct sl_command *command, int argc, char **argv,
                                struct sl_call *call, struct sl_error *error);

/* Adds the command's help. */
void sl_command_help(struct sl_str *out, const struct sl_command *command);

/* All commands, in the order of the help. */
extern const struct sl_command *const sl_commands[];
extern const size_t sl_n_commands;

extern const struct sl_command sl_command_mark;
extern const struct sl_command sl_command_plan;
extern const struct sl_command sl_command_list;
extern const struct sl_command sl_command_check;
extern const struct sl_command sl_command_soundcheck;
extern const struct sl_command sl_command_rehearse;
extern const struct sl_command sl_command_hear;
extern const struct sl_command sl_command_cues;
extern const struct sl_command sl_command_recall;
extern const struct sl_command sl_command_phrases;
extern const struct sl_command sl_command_merge;
extern const struct sl_command sl_command_progress;
extern const struct sl_command sl_command_export;
extern const struct sl_command sl_command_forget;
extern const struct sl_command sl_command_homework;
extern const struct sl_command sl_command_route;
extern const struct sl_command sl_command_drive;

#endif
