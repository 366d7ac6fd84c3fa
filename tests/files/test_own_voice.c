/* The kept voice: what is saved comes back number for number, and nothing broken is used. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "core/str.h"
#include "files/own_voice.h"
#include "files/path.h"
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

static struct sl_own_voice some_voice(void)
{
    struct sl_own_voice voice = {.known = true,
                                 .mllr = sl_mllr_identity(),
                                 .model = UINT64_C(0xfedcba9876543210),
                                 .learnt_s = 1750000000,
                                 .n_read = 12,
                                 .right_before = 0.503,
                                 .right_after = 0.57};
    voice.mllr.streams[0].rows[0][13] = 1.0 / 3;
    voice.mllr.streams[2].rows[12][0] = -7e-5;
    return voice;
}

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static void no_file_is_a_voice_that_is_not_known(void **state)
{
    (void)state;
    char path[TEMP_PATH_MAX];
    temp_folder_name(&folder, "none.json", path);
    struct sl_own_voice voice = some_voice();
    assert_int_equal(sl_own_voice_load(path, &voice, NULL), SL_OK);
    assert_false(voice.known);
    assert_int_equal(sl_own_voice_remove(path, NULL), SL_OK);
}

static void what_is_saved_comes_back_to_the_last_digit(void **state)
{
    (void)state;
    char path[TEMP_PATH_MAX];
    temp_folder_name(&folder, "voice.json", path);
    const struct sl_own_voice saved = some_voice();
    struct sl_own_voice loaded = {0};
    assert_int_equal(sl_own_voice_save(path, &saved, NULL), SL_OK);
    assert_int_equal(sl_own_voice_load(path, &loaded, NULL), SL_OK);
    assert_true(loaded.known);
    assert_memory_equal(&loaded.mllr, &saved.mllr, sizeof(saved.mllr));
    assert_true(loaded.model == saved.model);
    assert_true(loaded.learnt_s == saved.learnt_s);
    assert_int_equal(loaded.n_read, 12);
    assert_true(loaded.right_after == saved.right_after);
    assert_int_equal(sl_own_voice_remove(path, NULL), SL_OK);
    assert_false(sl_path_exists(path));
}

static void another_transform_has_another_id(void **state)
{
    (void)state;
    char id[SL_OWN_VOICE_ID_SIZE];
    char other[SL_OWN_VOICE_ID_SIZE];
    struct sl_own_voice voice = some_voice();
    sl_own_voice_id(&voice, id);
    voice.learnt_s++;
    sl_own_voice_id(&voice, other);
    assert_string_equal(id, other);
    assert_int_equal(strlen(id), 16);
    voice.mllr.streams[1].rows[3][3] += 1e-4;
    sl_own_voice_id(&voice, other);
    assert_string_not_equal(id, other);
}

/* Loads the saved voice with the first `from` in its file replaced by `to`. */
static enum sl_status load_changed(const char *from, const char *to)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(&folder, "changed.json", path);
    const struct sl_own_voice saved = some_voice();
    struct sl_str text = {0};
    struct sl_own_voice loaded = {.n_read = 99};
    assert_int_equal(sl_own_voice_save(path, &saved, NULL), SL_OK);
    assert_int_equal(sl_read_text_file(path, 1 << 20, &text, NULL), SL_OK);
    const char *at = strstr(sl_str_text(&text), from);
    assert_non_null(at);
    char *changed = sl_strf("%.*s%s%s", (int)(at - sl_str_text(&text)), sl_str_text(&text), to,
                            at + strlen(from));
    write_file(path, changed);
    enum sl_status status = sl_own_voice_load(path, &loaded, NULL);
    assert_true(status == SL_OK || loaded.n_read == 99);
    free(changed);
    sl_str_clear(&text);
    return status;
}

static void a_broken_file_is_refused(void **state)
{
    (void)state;
    static const char *const rows[][2] = {
        {"{", "["},
        {"\"version\":1", "\"version\":0"},
        {"\"model\":\"f", "\"model\":\"g"},
        {"\"model\":\"f", "\"model\":\""},
        {"\"streams\":[", "\"streams\":[[],"},
        {"[[[1.0,", "[[[1.0,0.0,"},
        {"[[[1.0,", "[[[null,"},
        {"[[[1.0,", "[[[1e6,"},
        {"\"right_after\":0.", "\"right_after\":1."},
        {"\"learnt_s\":", "\"learnt\":"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (load_changed(rows[i][0], rows[i][1]) != SL_FORMAT) {
            fail_msg("%s instead of %s was taken", rows[i][1], rows[i][0]);
        }
    }
    assert_int_equal(load_changed("\"version\":1", "\"version\":2"), SL_UNSUPPORTED);
    assert_int_equal(load_changed("{", "{\"more\":1,"), SL_OK);
}

static void the_trial_is_told_in_json(void **state)
{
    (void)state;
    struct sl_own_voice voice = some_voice();
    struct sl_own_voice_trial trial = {.helps = false, .n_better = 5, .n_worse = 6};
    char *json = NULL;
    voice.known = false;
    assert_int_equal(sl_own_voice_to_json(&voice, &trial, &json, NULL), SL_OK);
    assert_non_null(strstr(json, "\"voice\":null,\"helps\":false,\"better\":5,\"worse\":6"));
    free(json);
    assert_int_equal(sl_own_voice_to_json(&voice, NULL, &json, NULL), SL_OK);
    assert_string_equal(json, "{\"voice\":null}");
    free(json);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_file_is_a_voice_that_is_not_known),
        cmocka_unit_test(what_is_saved_comes_back_to_the_last_digit),
        cmocka_unit_test(another_transform_has_another_id),
        cmocka_unit_test(a_broken_file_is_refused),
        cmocka_unit_test(the_trial_is_told_in_json),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
