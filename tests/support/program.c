#include "support/program.h"

#include "core/str.h"

#include <pty.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <setjmp.h>

#include <cmocka.h>

static char *slurp(const char *path)
{
    struct sl_str text = {0};
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        fail_msg("cannot read %s", path);
    }
    char bytes[4096];
    size_t n;
    while ((n = fread(bytes, 1, sizeof bytes, file)) > 0) {
        sl_str_add_bytes(&text, bytes, n);
    }
    fclose(file);
    return sl_str_take(&text);
}

char *sl_scratch_make(void)
{
    const char *base = getenv("TMPDIR");
    char *folder = sl_strf("%s/sayline-test-XXXXXX", base == NULL ? "/tmp" : base);
    if (folder == NULL || mkdtemp(folder) == NULL) {
        fail_msg("cannot make a folder for the test");
    }
    return folder;
}

void sl_scratch_remove(char *folder)
{
    char *command = sl_strf("rm -rf '%s'", folder);
    assert_int_equal(system(command), 0);
    free(command);
    free(folder);
}

/* Writes the command to a script in the folder; the caller frees its path. */
static char *write_script(const char *folder, const char *command)
{
    char *script = sl_strf("%s/command.sh", folder);
    FILE *file = fopen(script, "w");
    assert_non_null(file);
    fprintf(file, "cd '%s' || exit 99\nPATH='%s':$PATH\n%s\n", SL_SOURCE_DIR, SL_PROGRAM_DIR,
            command);
    assert_int_equal(fclose(file), 0);
    return script;
}

static int code_of(int status)
{
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

struct sl_ran sl_run(const char *command)
{
    char *folder = sl_scratch_make();
    char *script = write_script(folder, command);
    char *line = sl_strf("timeout 600 sh %s </dev/null >%s/out 2>%s/err", script, folder, folder);
    int status = system(line);
    char *out = sl_strf("%s/out", folder);
    char *err = sl_strf("%s/err", folder);
    struct sl_ran ran = {.code = code_of(status), .out = slurp(out), .err = slurp(err)};
    free(out);
    free(err);
    free(line);
    free(script);
    sl_scratch_remove(folder);
    return ran;
}

struct sl_ran sl_run_typed(const char *command, const char *typed)
{
    char *folder = sl_scratch_make();
    char *script = write_script(folder, command);
    struct sl_str shown = {0};
    int terminal = -1;
    int status = 0;
    char bytes[4096];
    ssize_t n;
    pid_t child = forkpty(&terminal, NULL, NULL, NULL);
    assert_true(child >= 0);
    if (child == 0) {
        execlp("timeout", "timeout", "--foreground", "600", "sh", script, (char *)NULL);
        _exit(99);
    }
    assert_int_equal(write(terminal, typed, strlen(typed)), strlen(typed));
    while ((n = read(terminal, bytes, sizeof bytes)) > 0) { /* an error: nobody is there any more */
        sl_str_add_bytes(&shown, bytes, (size_t)n);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    close(terminal);
    free(script);
    sl_scratch_remove(folder);
    return (struct sl_ran){
        .code = code_of(status), .out = sl_str_take(&shown), .err = sl_strdup("")};
}

void sl_ran_clear(struct sl_ran *ran)
{
    free(ran->out);
    free(ran->err);
    *ran = (struct sl_ran){0};
}

void sl_check_in(const char *folder, const char *command, int code)
{
    char *line = sl_strf("D='%s'; export XDG_DATA_HOME=$D/data\n%s", folder, command);
    struct sl_ran ran = sl_run(line);
    if (ran.code != code) {
        fail_msg("%s: exit code %d, not %d\n%s%s", command, ran.code, code, ran.out, ran.err);
    }
    sl_ran_clear(&ran);
    free(line);
}
