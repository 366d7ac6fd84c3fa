#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "files/path.h"
#include "files/sound_choice.h"
#include "support/temp_folder.h"

#include <sys/stat.h>

static int make_folder(void **state)
{
    struct temp_folder *folder = calloc(1, sizeof *folder);
    *state = folder;
    return temp_folder_make(folder);
}

static int remove_folder(void **state)
{
    temp_folder_remove(*state);
    free(*state);
    return 0;
}

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static void assert_file_is(const char *path, const char *text)
{
    struct sl_str found = {0};
    assert_int_equal(sl_read_text_file(path, 1 << 20, &found, NULL), SL_OK);
    assert_string_equal(sl_str_text(&found), text);
    sl_str_clear(&found);
}

static struct sl_sound_choice full_choice(void)
{
    struct sl_sound_choice choice = {
        .input = sl_strdup("Desk microphone \"A\""),
        .output = sl_strdup("Loudspeaker, left"),
        .voice = {.known = true, .mean = {41.125, -5.25, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9.5, -10.062}},
        .voice_input = sl_strdup("Desk microphone \"A\""),
        .noise_db = {true, -61.5},
        .speech_db = {true, -24},
        .leak_db = {true, -31.25},
        .round_trip_s = {true, 0.151},
    };
    return choice;
}

static void assert_full(const struct sl_sound_choice *found)
{
    struct sl_sound_choice wanted = full_choice();
    assert_string_equal(found->input, wanted.input);
    assert_string_equal(found->output, wanted.output);
    assert_string_equal(found->voice_input, wanted.voice_input);
    assert_true(found->voice.known);
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        assert_float_equal(found->voice.mean[i], wanted.voice.mean[i], 1e-9);
    }
    assert_true(found->noise_db.known && found->speech_db.known && found->leak_db.known &&
                found->round_trip_s.known);
    assert_float_equal(found->noise_db.value, -61.5, 1e-9);
    assert_float_equal(found->speech_db.value, -24, 1e-9);
    assert_float_equal(found->leak_db.value, -31.25, 1e-9);
    assert_float_equal(found->round_trip_s.value, 0.151, 1e-9);
    sl_sound_choice_clear(&wanted);
}

static void what_was_saved_is_read_again(void **state)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(*state, "soundcheck.json", path);
    struct sl_sound_choice saved = full_choice();
    struct sl_sound_choice found = {.input = sl_strdup("what was there before")};
    assert_int_equal(sl_sound_choice_save(path, &saved, NULL), SL_OK);
    assert_int_equal(sl_sound_choice_load(path, &found, NULL), SL_OK);
    assert_full(&found);
    sl_sound_choice_clear(&found);
    sl_sound_choice_clear(&saved);
    assert_int_equal(temp_folder_count(*state, 0), 1); /* nothing is left beside it */
}

static void nothing_chosen_is_saved_as_such(void **state)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(*state, "soundcheck.json", path);
    struct sl_sound_choice found = {.input = sl_strdup("old")};
    assert_int_equal(sl_sound_choice_load(path, &found, NULL), SL_OK); /* no file yet */
    assert_null(found.input);
    assert_int_equal(sl_sound_choice_save(path, &found, NULL), SL_OK);
    assert_int_equal(sl_sound_choice_load(path, &found, NULL), SL_OK);
    assert_null(found.input);
    assert_null(found.output);
    assert_false(found.voice.known);
    assert_false(found.noise_db.known);
    sl_sound_choice_clear(&found);
}

static void keys_of_others_stay(void **state)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(*state, "soundcheck.json", path);
    write_file(path, "{\"sayline_soundcheck\": 1, \"lamp\": {\"on\": [1, 2]}, \"input\": \"x\"}");
    struct sl_sound_choice choice = {0};
    assert_int_equal(sl_sound_choice_load(path, &choice, NULL), SL_OK);
    assert_string_equal(choice.input, "x");
    assert_int_equal(sl_sound_choice_save(path, &choice, NULL), SL_OK);
    struct sl_str text = {0};
    assert_int_equal(sl_read_text_file(path, 1 << 20, &text, NULL), SL_OK);
    assert_non_null(strstr(sl_str_text(&text), "\"lamp\""));
    sl_str_clear(&text);
    sl_sound_choice_clear(&choice);
}

static void a_broken_file_is_refused_and_left_as_it_is(void **state)
{
    static const struct row {
        const char *name, *text;
        enum sl_status status;
        const char *where; /* its end */
        const char *what;
    } rows[] = {
        {"cut off", "{\"sayline_soundcheck\": 1,\n \"input\": \"Desk", SL_FORMAT, ":2:15", "JSON"},
        {"empty", "", SL_FORMAT, ":1:0", "JSON"},
        {"a list", "[1, 2]", SL_FORMAT, ".json", "not the file of a sound check"},
        {"no version", "{\"input\": null}", SL_FORMAT, ".json", "not the file of a sound check"},
        {"later", "{\"sayline_soundcheck\": 2}", SL_UNSUPPORTED, ".json", "later version"},
        {"a number for a name", "{\"sayline_soundcheck\": 1, \"input\": 3}", SL_FORMAT, ".json",
         "name of a device"},
        {"an empty name", "{\"sayline_soundcheck\": 1, \"output\": \"\"}", SL_FORMAT, ".json",
         "name of a device"},
        {"12 figures",
         "{\"sayline_soundcheck\": 1, \"voice\": {\"cepstral_mean\": [1,2,3,4,5,6,7,8,9,0,1,2]}}",
         SL_FORMAT, ".json", "13 figures"},
        {"a figure out of range",
         "{\"sayline_soundcheck\": 1, \"voice\": {\"cepstral_mean\": "
         "[1,2,3,4,5,6,7,8,9,0,1,2,1e3]}}",
         SL_FORMAT, ".json", "13 figures"},
        {"a word for a figure", "{\"sayline_soundcheck\": 1, \"noise_db\": \"low\"}", SL_FORMAT,
         ".json", "noise_db is no figure from -200 to 0"},
        {"a time below 0", "{\"sayline_soundcheck\": 1, \"round_trip_s\": -1}", SL_FORMAT, ".json",
         "round_trip_s"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char path[TEMP_PATH_MAX];
        temp_folder_name(*state, "soundcheck.json", path);
        write_file(path, rows[i].text);
        struct sl_error error = {0};
        struct sl_sound_choice choice = {.input = sl_strdup("kept")};
        enum sl_status status = sl_sound_choice_load(path, &choice, &error);
        size_t end = error.where == NULL ? 0 : strlen(error.where);
        bool ends = end >= strlen(rows[i].where) &&
                    strcmp(error.where + end - strlen(rows[i].where), rows[i].where) == 0;
        if (status != rows[i].status || !ends || strstr(error.what, rows[i].what) == NULL) {
            fail_msg("%s: %s, %s: %s", rows[i].name, sl_status_name(status), error.where,
                     error.what);
        }
        assert_non_null(error.mend);
        assert_string_equal(choice.input, "kept");
        assert_int_equal(sl_sound_choice_save(path, &choice, NULL), rows[i].status);
        assert_file_is(path, rows[i].text);
        sl_sound_choice_clear(&choice);
        sl_error_clear(&error);
    }
}

static void the_voice_belongs_to_its_microphone(void **state)
{
    (void)state;
    struct sl_sound_choice choice = full_choice();
    assert_true(sl_sound_choice_voice(&choice, "Desk microphone \"A\"").known);
    assert_false(sl_sound_choice_voice(&choice, "Headset").known);
    assert_false(sl_sound_choice_voice(&choice, NULL).known);
    free(choice.voice_input);
    choice.voice_input = NULL;
    assert_true(sl_sound_choice_voice(&choice, NULL).known);
    assert_false(sl_sound_choice_voice(&choice, "Headset").known);
    sl_sound_choice_clear(&choice);
}

static void the_path_follows_the_users_folders(void **state)
{
    static const struct row {
        const char *name, *config, *home, *path;
    } rows[] = {
        {"configuration folder", "/c", "/h", "/c/sayline/soundcheck.json"},
        {"a relative one is passed over", "c", "/h", "/h/.config/sayline/soundcheck.json"},
        {"only a home", NULL, "/h", "/h/.config/sayline/soundcheck.json"},
        {"neither", NULL, NULL, NULL},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        unsetenv("XDG_CONFIG_HOME");
        unsetenv("HOME");
        if (rows[i].config != NULL) {
            setenv("XDG_CONFIG_HOME", rows[i].config, 1);
        }
        if (rows[i].home != NULL) {
            setenv("HOME", rows[i].home, 1);
        }
        char *path = NULL;
        struct sl_error error = {0};
        enum sl_status status = sl_sound_choice_path(&path, &error);
        if (rows[i].path == NULL) {
            assert_int_equal(status, SL_NOT_FOUND);
            assert_non_null(error.mend);
        } else {
            assert_int_equal(status, SL_OK);
            assert_string_equal(path, rows[i].path);
        }
        free(path);
        sl_error_clear(&error);
    }
}

static void missing_folders_are_made(void **state)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(*state, "a/b/soundcheck.json", path);
    struct sl_sound_choice choice = {0};
    assert_int_equal(sl_sound_choice_save(path, &choice, NULL), SL_OK);
    assert_true(sl_path_exists(path));
    assert_int_equal(unlink(path), 0);
    temp_folder_name(*state, "a/b", path);
    assert_int_equal(rmdir(path), 0);
}

int main(void)
{
#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, make_folder, remove_folder)
    const struct CMUnitTest tests[] = {
        IN_FOLDER(what_was_saved_is_read_again),
        IN_FOLDER(nothing_chosen_is_saved_as_such),
        IN_FOLDER(keys_of_others_stay),
        IN_FOLDER(a_broken_file_is_refused_and_left_as_it_is),
        cmocka_unit_test(the_voice_belongs_to_its_microphone),
        cmocka_unit_test(the_path_follows_the_users_folders),
        IN_FOLDER(missing_folders_are_made),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
