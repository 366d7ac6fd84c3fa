/* sayline: finds the command and runs it. */
#include "cli/command.h"
#include "cli/shared.h"
#include "files/near.h"
#include "report/text.h"

#include <stdlib.h>
#include <string.h>

static void add_help(struct sl_str *out)
{
    int width = 0;
    for (size_t i = 0; i < sl_n_commands; i++) {
        int length = (int)strlen(sl_commands[i]->name);
        width = length > width ? length : width;
    }
    sl_str_add(out, "sayline: a practice companion for saying the junction routine aloud\n\n"
                    "Usage: sayline COMMAND [OPTION...] [ARGUMENT...]\n\nCommands:\n");
    for (size_t i = 0; i < sl_n_commands; i++) {
        sl_str_addf(out, "  %-*s  %s\n", width, sl_commands[i]->name, sl_commands[i]->summary);
    }
    sl_str_add(out, "\n`sayline COMMAND --help` tells more, with an example that runs.\n"
                    "`sayline --version` tells the version.\n\n"
                    "Example:\n  sayline plan t-left-open\n\n"
                    "Practise parked or at home, never while driving. The Highway Code, local\n"
                    "codes and your instructor come first.\n");
}

static enum sl_exit show(struct sl_str *text)
{
    enum sl_exit code = sl_print(text) ? SL_EXIT_DONE : SL_EXIT_FAILED;
    sl_str_clear(text);
    return code;
}

static const struct sl_command *find(const char *name)
{
    for (size_t i = 0; i < sl_n_commands; i++) {
        if (strcmp(sl_commands[i]->name, name) == 0) {
            return sl_commands[i];
        }
    }
    return NULL;
}

static enum sl_exit refuse(const char *word)
{
    const char *names[32] = {"--help", "--version"};
    size_t n = 2;
    for (size_t i = 0; i < sl_n_commands && n < 32; i++) {
        names[n++] = sl_commands[i]->name;
    }
    const char *near = sl_nearest(word, names, n);
    char *mend = near == NULL ? sl_strdup("`sayline --help` lists the commands")
                              : sl_strf("did you mean `sayline %s`?", near);
    struct sl_error error = {0};
    sl_fail(&error, SL_INVALID, NULL, mend, "there is no command %s", word);
    sl_complain(&error);
    sl_error_clear(&error);
    free(mend);
    return SL_EXIT_USAGE;
}

static enum sl_exit run(const struct sl_command *command, int argc, char **argv)
{
    struct sl_call call = {0};
    struct sl_error error = {0};
    if (sl_command_parse(command, argc, argv, &call, &error) != SL_OK) {
        sl_complain(&error);
        sl_error_clear(&error);
        return SL_EXIT_USAGE;
    }
    if (call.help) {
        struct sl_str text = {0};
        sl_command_help(&text, command);
        return show(&text);
    }
    return command->run(&call);
}

int main(int argc, char **argv)
{
    struct sl_str text = {0};
    if (argc < 2) {
        struct sl_error error = {0};
        sl_fail(&error, SL_INVALID, NULL, "`sayline --help` lists the commands",
                "a command is needed");
        sl_complain(&error);
        sl_error_clear(&error);
        return SL_EXIT_USAGE;
    }
    if (strcmp(argv[1], "--version") == 0) {
        sl_str_add(&text, "sayline " SL_VERSION "\n");
        return (int)show(&text);
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        add_help(&text);
        return (int)show(&text);
    }
    const struct sl_command *command = find(argv[1]);
    return (int)(command == NULL ? refuse(argv[1]) : run(command, argc - 1, argv + 1));
}
