#include "cli/command.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

enum { SPEED, LOUD, OPTIONS };
static const struct sl_option options[OPTIONS] = {
    [SPEED] = {"speed", 's', "SPEED", "How fast."},
    [LOUD] = {"loud", 0, NULL, "Louder."},
};
static const struct sl_command sample = {
    .name = "sample",
    .summary = "stand in for a command",
    .usage = "[OPTION...] FILE",
    .purpose = "Nothing.",
    .options = options,
    .n_options = OPTIONS,
    .least_operands = 1,
    .most_operands = 1,
    .operand = "FILE",
    .example = "sayline sample a",
    .example_tells = "nothing.",
    .exit_failed = "never",
};

/* Splits a line at blanks into an argv whose strings are in `copy`. */
static int split(char *copy, char **argv)
{
    int argc = 0;
    char *save = NULL;
    for (char *word = strtok_r(copy, " ", &save); word != NULL; word = strtok_r(NULL, " ", &save)) {
        argv[argc++] = word;
    }
    argv[argc] = NULL;
    return argc;
}

static void wrong_lines_are_refused_with_the_nearest_name(void **state)
{
    (void)state;
    static const struct {
        const char *line, *what, *mend;
    } rows[] = {
        {"sample a --spead 3", "sample has no option --spead", "did you mean --speed?"},
        {"sample a --lound=3", "sample has no option --lound", "did you mean --loud?"},
        {"sample a --helpp", "sample has no option --helpp", "did you mean --help?"},
        {"sample a --zzzzzzz", "sample has no option --zzzzzzz",
         "`sayline sample --help` lists the options"},
        {"sample a -x", "sample has no option -x", "`sayline sample --help` lists the options"},
        {"sample a --speed", "--speed needs a value: --speed SPEED", NULL},
        {"sample a -s", "--speed needs a value: --speed SPEED", NULL},
        {"sample a --loud=3", "--loud takes no value", NULL},
        {"sample", "sample needs a FILE: sayline sample [OPTION...] FILE", NULL},
        {"sample a b", "sample takes one FILE at most, \"b\" is too many", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char copy[80];
        char *argv[10];
        assert_true(strlen(rows[i].line) < sizeof copy);
        strcpy(copy, rows[i].line);
        struct sl_call call = {0};
        struct sl_error error = {0};
        int argc = split(copy, argv);
        if (sl_command_parse(&sample, argc, argv, &call, &error) != SL_INVALID) {
            fail_msg("not refused: %s", rows[i].line);
        }
        assert_string_equal(error.what, rows[i].what);
        if (rows[i].mend != NULL) {
            assert_string_equal(error.mend, rows[i].mend);
        }
        assert_null(call.command);
        sl_error_clear(&error);
    }
}

static void options_are_read_wherever_they_stand(void **state)
{
    (void)state;
    static const struct {
        const char *line, *speed, *operand;
        bool loud, help;
    } rows[] = {
        {"sample a", NULL, "a", false, false},
        {"sample --speed 3 a", "3", "a", false, false},
        {"sample a --speed=3", "3", "a", false, false},
        {"sample a -s3 --loud", "3", "a", true, false},
        {"sample --spe 3 a", "3", "a", false, false},
        {"sample --speed 3 --speed 4 a", "4", "a", false, false},
        {"sample -- --loud", NULL, "--loud", false, false},
        {"sample -", NULL, "-", false, false},
        {"sample --help", NULL, NULL, false, true},
        {"sample -h a b c", NULL, NULL, false, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char copy[80];
        char *argv[10];
        assert_true(strlen(rows[i].line) < sizeof copy);
        strcpy(copy, rows[i].line);
        struct sl_call call = {0};
        int argc = split(copy, argv);
        if (sl_command_parse(&sample, argc, argv, &call, NULL) != SL_OK) {
            fail_msg("refused: %s", rows[i].line);
        }
        assert_int_equal(call.help, rows[i].help);
        assert_int_equal(call.values[LOUD] != NULL, rows[i].loud);
        assert_int_equal(call.values[SPEED] != NULL, rows[i].speed != NULL);
        if (rows[i].speed != NULL) {
            assert_string_equal(call.values[SPEED], rows[i].speed);
        }
        if (rows[i].operand != NULL) {
            assert_int_equal(call.n_operands, 1);
            assert_string_equal(call.operands[0], rows[i].operand);
        }
    }
}

static void every_command_has_all_parts_of_a_help_text(void **state)
{
    (void)state;
    assert_true(sl_n_commands >= 4);
    for (size_t i = 0; i < sl_n_commands; i++) {
        const struct sl_command *command = sl_commands[i];
        struct sl_str help = {0};
        sl_command_help(&help, command);
        const char *text = sl_str_text(&help);
        static const char *const parts[] = {"\nUsage: sayline ", "\nOptions:\n", "--help",
                                            "\nExample:\n  sayline ", "\nExit codes:\n  0  "};
        for (size_t j = 0; j < sizeof parts / sizeof *parts; j++) {
            if (strstr(text, parts[j]) == NULL) {
                fail_msg("%s: the help has no %s", command->name, parts[j]);
            }
        }
        for (size_t j = 0; j < command->n_options; j++) {
            assert_non_null(strstr(text, command->options[j].name));
        }
        for (const char *line = text; line != NULL && *line != '\0';) {
            size_t length = strcspn(line, "\n");
            if (length > 80) {
                fail_msg("%s: a line of %zu columns: %.*s", command->name, length, (int)length,
                         line);
            }
            line += length + (line[length] == '\n' ? 1 : 0);
        }
        assert_non_null(command->run);
        assert_false(help.failed);
        sl_str_clear(&help);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wrong_lines_are_refused_with_the_nearest_name),
        cmocka_unit_test(options_are_read_wherever_they_stand),
        cmocka_unit_test(every_command_has_all_parts_of_a_help_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
