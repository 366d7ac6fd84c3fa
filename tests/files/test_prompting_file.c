#include "files/prompting_file.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/temp_folder.h"

static void each_routine_keeps_its_own_level(void **state)
{
    (void)state;
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    struct sl_fading first = {SL_PROMPTING_PARTIAL, 1, 0};
    struct sl_fading second = {SL_PROMPTING_NONE, 0, 1};
    struct sl_fading loaded = {SL_PROMPTING_NONE, 9, 9};
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "prompting.json", path);
    assert_int_equal(sl_prompting_load(path, "decide-last", &loaded, NULL), SL_OK);
    assert_int_equal(loaded.level, SL_PROMPTING_FULL); /* no file yet */
    assert_int_equal(loaded.clean_runs, 0);
    assert_int_equal(sl_prompting_save(path, "decide-last", &first, NULL), SL_OK);
    assert_int_equal(sl_prompting_save(path, "position-look", &second, NULL), SL_OK);
    assert_int_equal(sl_prompting_load(path, "decide-last", &loaded, NULL), SL_OK);
    assert_memory_equal(&loaded, &first, sizeof loaded);
    assert_int_equal(sl_prompting_load(path, "position-look", &loaded, NULL), SL_OK);
    assert_memory_equal(&loaded, &second, sizeof loaded);
    assert_int_equal(temp_folder_count(&folder, 0), 1); /* nothing is left beside it */
    temp_folder_remove(&folder);
}

static void a_file_that_is_not_ours_is_refused_and_left_alone(void **state)
{
    (void)state;
    static const char *const rows[] = {
        "",
        "[]",
        "{\"format\":1}",
        "{\"format\":2,\"routines\":{}}",
        "{\"format\":1,\"routines\":{\"a\":{\"level\":\"lots\",\"clean_runs\":0}}}",
        "{\"format\":1,\"routines\":{\"a\":{\"level\":\"full\",\"clean_runs\":-1}}}",
        "{\"format\":1,\"routines\":{\"a\":{\"level\":\"full\",\"late_runs\":0}}}",
        "{\"format\":1,\"routines\":{\"a\":7}}",
    };
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "prompting.json", path);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_fading loaded;
        FILE *file = fopen(path, "w");
        assert_non_null(file);
        assert_true(fputs(rows[i], file) >= 0);
        assert_int_equal(fclose(file), 0);
        if (sl_prompting_load(path, "a", &loaded, NULL) != SL_FORMAT) {
            fail_msg("taken: %s", rows[i]);
        }
    }
    struct sl_fading state_now = sl_fading_start();
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_int_equal(fclose(file), 0);
    assert_int_equal(sl_prompting_save(path, "a", &state_now, NULL), SL_FORMAT);
    temp_folder_remove(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_routine_keeps_its_own_level),
        cmocka_unit_test(a_file_that_is_not_ours_is_refused_and_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
