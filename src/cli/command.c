#include "cli/command.h"

#include "files/near.h"
#include "report/text.h"

#include <getopt.h>
#include <string.h>

#define HELP_WIDTH 80
#define VALUE_BASE 256 /* getopt's values of long options: above every letter */
#define VALUE_HELP 'h'

/* The tables that getopt_long wants. */
struct tables {
    struct option longs[SL_OPTION_MAX + 2];
    char letters[2 * SL_OPTION_MAX + 4];
};

static struct tables make_tables(const struct sl_command *command)
{
    struct tables tables = {0};
    size_t at = 0;
    tables.letters[at++] = ':';
    tables.letters[at++] = VALUE_HELP;
    for (size_t i = 0; i < command->n_options; i++) {
        const struct sl_option *option = &command->options[i];
        int takes = option->argument == NULL ? no_argument : required_argument;
        tables.longs[i] = (struct option){option->name, takes, NULL, VALUE_BASE + (int)i};
        if (option->letter != 0) {
            tables.letters[at++] = option->letter;
        }
        if (option->letter != 0 && takes == required_argument) {
            tables.letters[at++] = ':';
        }
    }
    tables.longs[command->n_options] = (struct option){"help", no_argument, NULL, VALUE_HELP};
    return tables;
}

/* The option for getopt's value; n_options when there is none. */
static size_t option_of(const struct sl_command *command, int value)
{
    if (value >= VALUE_BASE) {
        return (size_t)(value - VALUE_BASE);
    }
    size_t i = 0;
    while (i < command->n_options && command->options[i].letter != value) {
        i++;
    }
    return i;
}

static enum sl_status unknown_option(const struct sl_command *command, const char *word,
                                     struct sl_error *error)
{
    const char *names[SL_OPTION_MAX + 1];
    for (size_t i = 0; i < command->n_options; i++) {
        names[i] = command->options[i].name;
    }
    names[command->n_options] = "help";
    size_t length = strcspn(word, "=");
    struct sl_str name = {0};
    sl_str_add_bytes(&name, word, length);
    const char *dashes = strspn(word, "-") >= 2 ? word + 2 : word;
    struct sl_str bare = {0};
    sl_str_add_bytes(&bare, dashes, strcspn(dashes, "="));
    const char *near = sl_nearest(sl_str_text(&bare), names, command->n_options + 1);
    struct sl_str mend = {0};
    if (near != NULL) {
        sl_str_addf(&mend, "did you mean --%s?", near);
    } else {
        sl_str_addf(&mend, "`sayline %s --help` lists the options", command->name);
    }
    sl_fail(error, SL_INVALID, NULL, sl_str_text(&mend), "%s has no option %s", command->name,
            sl_str_text(&name));
    sl_str_clear(&mend);
    sl_str_clear(&bare);
    sl_str_clear(&name);
    return SL_INVALID;
}

/* Says what getopt_long found wrong: optopt is 0 for an unknown or ambiguous long option. */
static enum sl_status refuse(const struct sl_command *command, int found, char **argv,
                             struct sl_error *error)
{
    const char *word = argv[optind - 1];
    if (found == ':') {
        size_t i = option_of(command, optopt);
        return sl_fail(error, SL_INVALID, NULL, NULL, "--%s needs a value: --%s %s",
                       command->options[i].name, command->options[i].name,
                       command->options[i].argument);
    }
    size_t i = optopt == 0 ? command->n_options : option_of(command, optopt);
    if (i < command->n_options) {
        return sl_fail(error, SL_INVALID, NULL, NULL, "--%s takes no value",
                       command->options[i].name);
    }
    if (optopt == VALUE_HELP) {
        return sl_fail(error, SL_INVALID, NULL, NULL, "--help takes no value");
    }
    if (optopt != 0) {
        const char letter[] = {'-', (char)optopt, '\0'};
        return unknown_option(command, letter, error);
    }
    return unknown_option(command, word, error);
}

static enum sl_status check_operands(const struct sl_command *command, const struct sl_call *call,
                                     struct sl_error *error)
{
    if (call->n_operands < command->least_operands) {
        return sl_fail(error, SL_INVALID, NULL, NULL, "%s needs a %s: sayline %s %s", command->name,
                       command->operand, command->name, command->usage);
    }
    if (call->n_operands > command->most_operands) {
        return sl_fail(error, SL_INVALID, NULL, NULL, "%s takes one %s at most, \"%s\" is too many",
                       command->name, command->operand, call->operands[command->most_operands]);
    }
    return SL_OK;
}

enum sl_status sl_command_parse(const struct sl_command *command, int argc, char **argv,
                                struct sl_call *call, struct sl_error *error)
{
    struct tables tables = make_tables(command);
    struct sl_call made = {.command = command};
    optind = 0; /* glibc: begin anew */
    opterr = 0;
    int found;
    while ((found = getopt_long(argc, argv, tables.letters, tables.longs, NULL)) != -1) {
        if (found == VALUE_HELP) {
            made.help = true;
            continue;
        }
        if (found == '?' || found == ':') {
            return refuse(command, found, argv, error);
        }
        made.values[option_of(command, found)] = optarg == NULL ? "" : optarg;
    }
    made.operands = (const char *const *)(argv + optind);
    made.n_operands = (size_t)(argc - optind);
    enum sl_status status = made.help ? SL_OK : check_operands(command, &made, error);
    if (status == SL_OK) {
        *call = made;
    }
    return status;
}

static void help_option(struct sl_str *out, const struct sl_option *option)
{
    struct sl_str label = {0};
    if (option->letter != 0) {
        sl_str_addf(&label, "  -%c, --%s", option->letter, option->name);
    } else {
        sl_str_addf(&label, "      --%s", option->name);
    }
    if (option->argument != NULL) {
        sl_str_addf(&label, " %s", option->argument);
    }
    struct sl_str padded = {0};
    sl_str_addf(&padded, "%-27s ", sl_str_text(&label));
    sl_text_fact(out, sl_str_text(&padded), option->help, HELP_WIDTH);
    sl_str_clear(&padded);
    sl_str_clear(&label);
}

void sl_command_help(struct sl_str *out, const struct sl_command *command)
{
    static const struct sl_option help = {"help", VALUE_HELP, NULL, "This text."};
    sl_str_addf(out, "sayline %s: %s\n\nUsage: sayline %s %s\n\n", command->name, command->summary,
                command->name, command->usage);
    sl_text_fact(out, "", command->purpose, HELP_WIDTH);
    sl_str_add(out, "\nOptions:\n");
    for (size_t i = 0; i < command->n_options; i++) {
        help_option(out, &command->options[i]);
    }
    help_option(out, &help);
    sl_str_addf(out, "\nExample:\n  %s\n", command->example);
    sl_text_fact(out, "  ", command->example_tells, HELP_WIDTH);
    sl_str_add(out, "\nExit codes:\n  0  done\n");
    sl_text_fact(out, "  1  ", command->exit_failed, HELP_WIDTH);
    sl_str_add(out, "  2  wrong use: an option, a command or a name that does not exist\n");
    if (command->device) {
        sl_str_add(out, "  3  no microphone or speaker, or one that is busy or of no use\n"
                        "  4  the device went away; what was recorded is kept\n"
                        "  130, 143: ended by Ctrl-C, by a signal; what was recorded is kept\n");
    }
}
