#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>

#include "files/share_json.h"
#include "support/temp_folder.h"

static enum sl_status share(const char *json, struct sl_str *text, struct sl_error *error)
{
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "x.json", path);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(json, file) >= 0);
    assert_int_equal(fclose(file), 0);
    enum sl_status status = sl_json_without_paths(path, text, error);
    temp_folder_remove(&folder);
    return status;
}

static void of_paths_only_the_names_are_left(void **state)
{
    (void)state;
    static const struct {
        const char *before, *after;
    } rows[] = {
        {"{\"junction\":\"/home/ada/lanes/mill lane.yaml\",\"from_s\":7.264}",
         "{\"junction\":\"mill lane\",\"from_s\":7.264}\n"},
        {"{\"junction\":\"t-left-open\",\"routine\":\"./own.yaml\",\"car\":\"small-petrol\"}",
         "{\"junction\":\"t-left-open\",\"routine\":\"own\",\"car\":\"small-petrol\"}\n"},
        {"{\"file\":\"./set.runs/a.flac\",\"text\":\"left/right\",\"run\":{\"car\":\"../c.yaml\"}}",
         "{\"file\":\"a.flac\",\"text\":\"left/right\",\"run\":{\"car\":\"c\"}}\n"},
        {"{\"file\":\"a.flac\",\"junction\":null,\"run\":null}",
         "{\"file\":\"a.flac\",\"junction\":null,\"run\":null}\n"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_str text = {0};
        assert_int_equal(share(rows[i].before, &text, NULL), SL_OK);
        assert_string_equal(sl_str_text(&text), rows[i].after);
        sl_str_clear(&text);
    }
}

static void what_is_no_object_is_refused_by_name(void **state)
{
    (void)state;
    static const char *const rows[] = {"", "[]", "{\"a\":1", "{\"a\":1,\"a\":2}"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_str text = {0};
        struct sl_error error = {0};
        assert_int_equal(share(rows[i], &text, &error), SL_FORMAT);
        assert_non_null(strstr(error.where, "x.json"));
        assert_int_equal(text.length, 0);
        sl_error_clear(&error);
    }
    struct sl_str text = {0};
    assert_int_equal(sl_json_without_paths("/none/x.json", &text, NULL), SL_NOT_FOUND);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(of_paths_only_the_names_are_left),
        cmocka_unit_test(what_is_no_object_is_refused_by_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
