/* Reading the Gaussians of an acoustic model. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/acoustic_model.h"
#include "support/temp_folder.h"

#include <stdio.h>

static void a_broken_acoustic_model_is_refused(void **state)
{
    (void)state;
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    struct sl_acoustic_model model = {0};
    assert_int_equal(sl_acoustic_model_load("/nonexistent", &model, NULL), SL_NOT_FOUND);
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "means", path);
    static const char *const texts[] = {"", "s3\nversion 1.0\n", "s3\nendhdr\n",
                                        "s3\nendhdr\nD3\"\x11*"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        (void)fputs(texts[i], file);
        assert_int_equal(fclose(file), 0);
        assert_int_equal(sl_acoustic_model_load(folder.path, &model, NULL), SL_FORMAT);
        assert_null(model.gaussians.means);
    }
    temp_folder_remove(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_broken_acoustic_model_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
