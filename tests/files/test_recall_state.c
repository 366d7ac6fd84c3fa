/* What the recall drill remembers on disk: nothing is lost, and nothing broken is taken for true.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <sys/stat.h>

#include "core/str.h"
#include "files/path.h"
#include "files/recall_state.h"
#include "support/temp_folder.h"

static struct temp_folder folder;

static int make_folder(void **state)
{
    (void)state;
    return temp_folder_make(&folder);
}

static int remove_folder(void **state)
{
    (void)state;
    temp_folder_remove(&folder);
    return 0;
}

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static void no_file_is_an_empty_state(void **state)
{
    (void)state;
    char path[TEMP_PATH_MAX];
    temp_folder_name(&folder, "none.json", path);
    struct sl_recall_state read = {0};
    assert_int_equal(sl_recall_state_load(path, &read, NULL), SL_OK);
    assert_int_equal(read.count, 0);
    assert_true(sl_recall_state_get(&read, "any").half_life_s <= 0);
}

static void what_is_put_is_there_again(void **state)
{
    (void)state;
    char path[TEMP_PATH_MAX];
    temp_folder_name(&folder, "recall.json", path);
    struct sl_memory first = {.half_life_s = 900, .last_s = 1750000000, .asked = 1};
    struct sl_memory second = {
        .half_life_s = 86400.5, .last_s = 1750000100, .asked = 3, .right = 2};
    assert_int_equal(sl_recall_state_put(path, "scene/\"quoted\"", &first, NULL), SL_OK);
    assert_int_equal(sl_recall_state_put(path, "b/c", &first, NULL), SL_OK);
    assert_int_equal(sl_recall_state_put(path, "b/c", &second, NULL), SL_OK);
    struct sl_recall_state read = {0};
    assert_int_equal(sl_recall_state_load(path, &read, NULL), SL_OK);
    assert_int_equal(read.count, 2);
    struct sl_memory got = sl_recall_state_get(&read, "b/c");
    assert_true(got.half_life_s == second.half_life_s && got.last_s == second.last_s);
    assert_int_equal(got.asked, 3);
    assert_int_equal(got.right, 2);
    assert_int_equal(sl_recall_state_get(&read, "scene/\"quoted\"").asked, 1);
    sl_recall_state_clear(&read);
    assert_int_equal(temp_folder_count(&folder, 0), 1); /* no temporary file is left */
}

static void broken_files_are_refused_and_stay_as_they_are(void **state)
{
    (void)state;
    static const struct {
        const char *name, *text;
        enum sl_status status;
    } rows[] = {
        {"empty", "", SL_FORMAT},
        {"cut short", "{\"sayline_recall\": 1, \"items\": [", SL_FORMAT},
        {"other JSON", "{\"a\": 1}", SL_FORMAT},
        {"a list", "[]", SL_FORMAT},
        {"a key twice", "{\"sayline_recall\": 1, \"items\": [], \"items\": []}", SL_FORMAT},
        {"no items", "{\"sayline_recall\": 1}", SL_FORMAT},
        {"a later version", "{\"sayline_recall\": 2, \"items\": []}", SL_UNSUPPORTED},
        {"no id",
         "{\"sayline_recall\": 1, \"items\": [{\"half_life_s\": 900, \"last_s\": 1, \"asked\": 1, "
         "\"right\": 1}]}",
         SL_FORMAT},
        {"half-life of a second",
         "{\"sayline_recall\": 1, \"items\": [{\"id\": \"a\", \"half_life_s\": 1, \"last_s\": 1, "
         "\"asked\": 1, \"right\": 1}]}",
         SL_FORMAT},
        {"more right than asked",
         "{\"sayline_recall\": 1, \"items\": [{\"id\": \"a\", \"half_life_s\": 900, \"last_s\": 1, "
         "\"asked\": 1, \"right\": 2}]}",
         SL_FORMAT},
        {"one id twice",
         "{\"sayline_recall\": 1, \"items\": [{\"id\": \"a\", \"half_life_s\": 900, \"last_s\": 1, "
         "\"asked\": 1, \"right\": 1}, {\"id\": \"a\", \"half_life_s\": 900, \"last_s\": 1, "
         "\"asked\": 1, \"right\": 1}]}",
         SL_FORMAT},
    };
    char path[TEMP_PATH_MAX];
    temp_folder_name(&folder, "broken.json", path);
    struct sl_memory memory = {.half_life_s = 900, .last_s = 1, .asked = 1};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_error error = {0};
        struct sl_recall_state read = {0};
        write_file(path, rows[i].text);
        if (sl_recall_state_load(path, &read, &error) != rows[i].status ||
            sl_recall_state_put(path, "b", &memory, NULL) != rows[i].status) {
            fail_msg("%s: %s", rows[i].name, sl_status_name(error.status));
        }
        assert_non_null(error.mend);
        assert_non_null(strstr(error.where, "broken.json"));
        sl_error_clear(&error);
        struct sl_str text = {0};
        assert_int_equal(sl_read_text_file(path, 10000, &text, NULL), SL_OK);
        assert_string_equal(sl_str_text(&text), rows[i].text);
        sl_str_clear(&text);
    }
    unlink(path);
}

static void what_cannot_be_written_leaves_the_old_file(void **state)
{
    (void)state;
    struct sl_error error = {0};
    struct sl_memory memory = {.half_life_s = 900, .last_s = 1, .asked = 1};
    assert_int_equal(sl_recall_state_put("/proc/recall.json", "a", &memory, &error), SL_IO);
    assert_non_null(error.what);
    sl_error_clear(&error);
}

static void the_state_is_in_the_users_data_folder(void **state)
{
    (void)state;
    char *path = NULL;
    assert_int_equal(setenv("XDG_DATA_HOME", "/some/where", 1), 0);
    assert_int_equal(sl_recall_state_path("me", &path, NULL), SL_OK);
    assert_string_equal(path, "/some/where/sayline/recall.json");
    free(path);
    assert_int_equal(unsetenv("XDG_DATA_HOME"), 0);
    assert_int_equal(setenv("HOME", "/home/learner", 1), 0);
    assert_int_equal(sl_recall_state_path("me", &path, NULL), SL_OK);
    assert_string_equal(path, "/home/learner/.local/share/sayline/recall.json");
    free(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_file_is_an_empty_state),
        cmocka_unit_test(what_is_put_is_there_again),
        cmocka_unit_test(broken_files_are_refused_and_stay_as_they_are),
        cmocka_unit_test(what_cannot_be_written_leaves_the_old_file),
        cmocka_unit_test(the_state_is_in_the_users_data_folder),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
