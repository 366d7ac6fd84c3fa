#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include "core/str.h"
#include "files/path.h"
#include "files/scratch.h"
#include "support/temp_folder.h"

/* $TMPDIR is a folder of the test's own. */
static int make_base(void **state)
{
    struct temp_folder *base = calloc(1, sizeof *base);
    *state = base;
    return base == NULL || temp_folder_make(base) != 0 || setenv("TMPDIR", base->path, 1) != 0 ? -1
                                                                                               : 0;
}

static int remove_base(void **state)
{
    const struct temp_folder *base = *state;
    sl_remove_folder(base->path);
    free(*state);
    return unsetenv("TMPDIR");
}

static void put_file(const char *folder, const char *name)
{
    char *path = sl_strf("%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fclose(file);
    free(path);
}

static void it_goes_with_all_that_is_in_it(void **state)
{
    const struct temp_folder *base = *state;
    struct sl_scratch scratch = {0};
    struct stat like;
    assert_int_equal(sl_scratch_open("thing", &scratch, NULL), SL_OK);
    assert_ptr_equal(strstr(scratch.path, base->path), scratch.path);
    assert_int_equal(stat(scratch.path, &like), 0);
    assert_int_equal(like.st_mode & 0777, 0700);
    char *inner = sl_strf("%s/inner", scratch.path);
    char *outside = sl_strf("%s/outside", base->path);
    char *link = sl_strf("%s/link", inner);
    assert_int_equal(mkdir(inner, 0700) + mkdir(outside, 0700), 0);
    put_file(inner, "a");
    put_file(outside, "b");
    assert_int_equal(symlink(outside, link), 0);
    free(inner);
    free(link);
    sl_scratch_close(&scratch);
    assert_int_equal(temp_folder_count(base, 0), 1);
    char *kept = sl_strf("%s/b", outside);
    assert_true(sl_path_exists(kept)); /* the link was removed, and not followed */
    free(kept);
    free(outside);
    sl_scratch_close(&scratch); /* {0} is fine */
}

/* A program that holds a folder until it is killed; only the parent returns. */
static pid_t hold_one(void)
{
    int ready[2];
    char byte = 0;
    assert_int_equal(pipe(ready), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct sl_scratch scratch = {0};
        if (sl_scratch_open("thing", &scratch, NULL) == SL_OK) {
            char *inner = sl_strf("%s/inner", scratch.path);
            (void)mkdir(inner, 0700);
            free(inner);
            (void)!write(ready[1], "y", 1);
        }
        (void)pause();
        _exit(1);
    }
    assert_int_equal(read(ready[0], &byte, 1), 1);
    close(ready[0]);
    close(ready[1]);
    return child;
}

static void end(pid_t child)
{
    assert_int_equal(kill(child, SIGKILL), 0);
    assert_int_equal(waitpid(child, NULL, 0), child);
}

static void those_of_killed_programs_are_swept_away_and_no_others(void **state)
{
    const struct temp_folder *base = *state;
    struct sl_scratch scratch = {0};
    char *other = sl_strf("%s/thing-else", base->path);
    assert_int_equal(mkdir(other, 0700), 0);
    pid_t alive = hold_one();
    pid_t killed = hold_one();
    end(killed);
    assert_int_equal(temp_folder_count(base, 0), 3);
    assert_int_equal(sl_scratch_open("thing", &scratch, NULL), SL_OK);
    assert_int_equal(temp_folder_count(base, 0), 3); /* the other, the living one's, and this */
    sl_scratch_close(&scratch);
    end(alive);
    assert_int_equal(sl_scratch_open("thing", &scratch, NULL), SL_OK);
    assert_int_equal(temp_folder_count(base, 0), 2);
    sl_scratch_close(&scratch);
    assert_true(sl_path_exists(other));
    free(other);
}

static void a_base_that_is_no_folder_is_said(void **state)
{
    (void)state;
    struct sl_scratch scratch = {0};
    struct sl_error error = {0};
    assert_int_equal(setenv("TMPDIR", "/dev/null/none", 1), 0);
    assert_int_equal(sl_scratch_open("thing", &scratch, &error), SL_IO);
    assert_string_equal(error.where, "/dev/null/none");
    assert_null(scratch.path);
    sl_error_clear(&error);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(it_goes_with_all_that_is_in_it, make_base, remove_base),
        cmocka_unit_test_setup_teardown(those_of_killed_programs_are_swept_away_and_no_others,
                                        make_base, remove_base),
        cmocka_unit_test_setup_teardown(a_base_that_is_no_folder_is_said, make_base, remove_base),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
