/* Every example of the help texts and the manual page really runs. Those of the README:
 * test_readme.c. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void run_example(const char *where, const char *line, size_t length)
{
    char *command = sl_strf("%.*s", (int)length, line);
    struct sl_ran ran = sl_run(command);
    if (ran.code != 0 || ran.out[0] == '\0') {
        fail_msg("%s: %s: exit code %d\n%s%s", where, command, ran.code, ran.out, ran.err);
    }
    sl_ran_clear(&ran);
    free(command);
}

/* Runs what follows `prefix` on each line of the text that begins with it and goes on with
 * "sayline "; the number of lines. */
static size_t run_lines(const char *where, const char *text, const char *prefix)
{
    size_t n = 0;
    size_t skip = strlen(prefix);
    for (const char *line = text; line != NULL; line = strchr(line, '\n')) {
        line += *line == '\n' ? 1 : 0;
        if (strncmp(line, prefix, skip) == 0 && strncmp(line + skip, "sayline ", 8) == 0) {
            run_example(where, line + skip, strcspn(line, "\n") - skip);
            n++;
        }
    }
    return n;
}

static void examples_of_the_help_texts_run(void **state)
{
    (void)state;
    static const char *const commands[] = {
        "",       "mark ",     "plan ",     "drive ",      "list ",
        "check ", "recall ",   "rehearse ", "soundcheck ", "hear ",
        "cues ",  "progress ", "export ",   "forget ",     "homework "};
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
        char *command = sl_strf("sayline %s--help", commands[i]);
        struct sl_ran ran = sl_run(command);
        assert_int_equal(ran.code, 0);
        const char *example = strstr(ran.out, "\nExample:\n");
        assert_non_null(example);
        assert_int_equal(run_lines(command, example, "  "), 1);
        sl_ran_clear(&ran);
        free(command);
    }
}

static size_t run_file(const char *path, const char *prefix)
{
    char *command = sl_strf("cat %s", path);
    struct sl_ran file = sl_run(command);
    assert_int_equal(file.code, 0);
    size_t n = run_lines(path, file.out, prefix);
    sl_ran_clear(&file);
    free(command);
    return n;
}

static void examples_of_the_manual_page_run(void **state)
{
    (void)state;
    assert_true(run_file("docs/sayline.1", ".Dl ") >= 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(examples_of_the_help_texts_run),
        cmocka_unit_test(examples_of_the_manual_page_run),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
