#include "files/run_file.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/near.h"
#include "support/temp_folder.h"

static void the_run_file_stands_beside_the_recording(void **state)
{
    (void)state;
    static const char *const rows[][2] = {
        {"a/b.flac", "a/b.run.json"}, {"b.flac", "b.run.json"},      {"b", "b.run.json"},
        {"a.b/c", "a.b/c.run.json"},  {"a.b/.c", "a.b/.c.run.json"}, {"x.y.wav", "x.y.run.json"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *path = sl_run_file_path(rows[i][0]);
        assert_string_equal(path, rows[i][1]);
        free(path);
    }
}

static void what_is_saved_is_loaded_again(void **state)
{
    (void)state;
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    char junction[] = "Mill \"Lane\" \xc3\xa9", routine[] = "decide-last", ended[] = "done";
    struct sl_run_file saved = {.junction = junction,
                                .routine = routine,
                                .ended = ended,
                                .from_s = 7.963,
                                .from_known = true,
                                .xruns = 3,
                                .lost_s = 0.25,
                                .starved_s = 0.125,
                                .half_duplex = true,
                                .driven = true,
                                .seed = 4294967295};
    struct sl_run_file loaded = {0};
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "x.run.json", path);
    assert_int_equal(sl_run_file_save(path, &saved, NULL), SL_OK);
    assert_int_equal(sl_run_file_load(path, &loaded, NULL), SL_OK);
    assert_string_equal(loaded.junction, junction);
    assert_string_equal(loaded.routine, routine);
    assert_string_equal(loaded.ended, ended);
    assert_null(loaded.car);
    assert_true(loaded.from_known && loaded.half_duplex);
    assert_true(loaded.from_s == 7.963);
    assert_int_equal(loaded.xruns, 3);
    assert_true(loaded.driven && loaded.seed == 4294967295);
    assert_near(loaded.lost_s, 0.25, 1e-9);
    assert_near(loaded.starved_s, 0.125, 1e-9);
    sl_run_file_clear(&loaded);
    saved.from_known = false;
    saved.driven = false;
    assert_int_equal(sl_run_file_save(path, &saved, NULL), SL_OK);
    assert_int_equal(sl_run_file_load(path, &loaded, NULL), SL_OK);
    assert_false(loaded.from_known || loaded.driven);
    sl_run_file_clear(&loaded);
    temp_folder_remove(&folder);
}

static void what_is_no_run_file_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *name, *text;
        enum sl_status status;
    } rows[] = {
        {"empty", "", SL_FORMAT},
        {"list", "[]", SL_FORMAT},
        {"cut", "{\"format\":1,\"junc", SL_FORMAT},
        {"no junction", "{\"format\":1,\"from_s\":1}", SL_FORMAT},
        {"other format", "{\"format\":2,\"junction\":\"a\"}", SL_FORMAT},
        {"no format", "{\"junction\":\"a\"}", SL_FORMAT},
        {"number for a name", "{\"format\":1,\"junction\":7}", SL_FORMAT},
        {"text for from", "{\"format\":1,\"junction\":\"a\",\"from_s\":\"1\"}", SL_FORMAT},
        {"seed that is none", "{\"format\":1,\"junction\":\"a\",\"seed\":\"7\"}", SL_FORMAT},
        {"seed below", "{\"format\":1,\"junction\":\"a\",\"seed\":-1}", SL_FORMAT},
        {"seed above", "{\"format\":1,\"junction\":\"a\",\"seed\":4294967296}", SL_FORMAT},
        {"half a seed", "{\"format\":1,\"junction\":\"a\",\"seed\":0.5}", SL_FORMAT},
        {"negative from", "{\"format\":1,\"junction\":\"a\",\"from_s\":-1}", SL_FORMAT},
        {"endless from", "{\"format\":1,\"junction\":\"a\",\"from_s\":1e300}", SL_FORMAT},
        {"twice", "{\"format\":1,\"junction\":\"a\",\"junction\":\"b\"}", SL_FORMAT},
        {"least", "{\"format\":1,\"junction\":\"a\"}", SL_OK},
        {"of an earlier sayline", "{\"format\":1,\"junction\":\"a\",\"own_voice\":\"0f\"}", SL_OK},
    };
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "x.run.json", path);
    struct sl_run_file loaded = {0};
    assert_int_equal(sl_run_file_load(path, &loaded, NULL), SL_NOT_FOUND);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        FILE *file = fopen(path, "w");
        assert_non_null(file);
        assert_true(fputs(rows[i].text, file) >= 0);
        assert_int_equal(fclose(file), 0);
        enum sl_status status = sl_run_file_load(path, &loaded, NULL);
        if (status != rows[i].status) {
            fail_msg("%s: %s", rows[i].name, sl_status_name(status));
        }
        sl_run_file_clear(&loaded);
    }
    temp_folder_remove(&folder);
}

static void a_run_joins_the_object_of_its_mark(void **state)
{
    (void)state;
    char junction[] = "a";
    struct sl_run_file run = {.junction = junction, .from_s = 1.5, .from_known = true};
    char *json = NULL;
    assert_int_equal(sl_run_to_json("{\"score\":0.1,\"list\":[1]}", &run, &json, NULL), SL_OK);
    assert_non_null(strstr(json, "{\"score\":0.1,\"list\":[1],\"run\":{"));
    assert_non_null(strstr(json, "\"from_s\":1.5"));
    assert_null(strchr(json, '\n'));
    free(json);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_run_file_stands_beside_the_recording),
        cmocka_unit_test(what_is_saved_is_loaded_again),
        cmocka_unit_test(what_is_no_run_file_is_refused),
        cmocka_unit_test(a_run_joins_the_object_of_its_mark),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
