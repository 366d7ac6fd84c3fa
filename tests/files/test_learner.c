#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "files/digest.h"
#include "files/learner.h"
#include "support/temp_folder.h"

static void names_that_could_lead_elsewhere_are_refused(void **state)
{
    (void)state;
    static const char *const good[] = {"me", "Ana", "O'Neil", "Zo\xc3\xab", "9", "A. B-c_d"};
    static const char *const bad[] = {"",     ".",    "..",     "../Ana", "a/b",    "-a",
                                      " a",   "a\nb", "a\x1b[", "'a",     "Zo\xeb", "a,b",
                                      "a\"b", "=a",   "a=b",    "a;b"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        assert_int_equal(sl_learner_check(good[i], NULL), SL_OK);
    }
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        if (sl_learner_check(bad[i], NULL) != SL_INVALID) {
            fail_msg("not refused: %s", bad[i]);
        }
    }
    char name[SL_LEARNER_MOST_BYTES + 2];
    memset(name, 'a', sizeof name);
    name[SL_LEARNER_MOST_BYTES + 1] = '\0';
    assert_int_equal(sl_learner_check(name, NULL), SL_INVALID);
    name[SL_LEARNER_MOST_BYTES] = '\0';
    assert_int_equal(sl_learner_check(name, NULL), SL_OK);
}

static void each_learner_has_a_folder(void **state)
{
    (void)state;
    char *folder = NULL;
    setenv("XDG_DATA_HOME", "/data", 1);
    assert_int_equal(sl_learner_folder(SL_DEFAULT_LEARNER, &folder, NULL), SL_OK);
    assert_string_equal(folder, "/data/sayline");
    free(folder);
    assert_int_equal(sl_learner_folder("Ana", &folder, NULL), SL_OK);
    assert_string_equal(folder, "/data/sayline/learners/Ana");
    free(folder);
    assert_int_equal(sl_learner_folder("../Ana", &folder, NULL), SL_INVALID);
}

/* NIST's example "abc" for FIPS 180, from a file. */
static void the_digest_of_a_file_is_that_of_its_bytes(void **state)
{
    (void)state;
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    struct sl_digest digest;
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "abc", path);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs("abc", file);
    fclose(file);
    assert_int_equal(sl_file_digest(path, &digest, NULL), SL_OK);
    assert_int_equal(digest.bytes, 3);
    assert_string_equal(digest.sha256,
                        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    temp_folder_name(&folder, "none", path);
    assert_int_equal(sl_file_digest(path, &digest, NULL), SL_NOT_FOUND);
    assert_int_equal(sl_file_digest(folder.path, &digest, NULL), SL_IO);
    temp_folder_remove(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_that_could_lead_elsewhere_are_refused),
        cmocka_unit_test(each_learner_has_a_folder),
        cmocka_unit_test(the_digest_of_a_file_is_that_of_its_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
