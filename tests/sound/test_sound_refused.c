#include "sound/sound_reader.h"

#include "support/temp_folder.h"

#include "sound_files.h"

#include <sys/stat.h>

static int set_up(void **state)
{
    static struct temp_folder folder;
    *state = &folder;
    return temp_folder_make(&folder);
}

static int tear_down(void **state)
{
    temp_folder_remove(*state);
    return 0;
}

static int16_t sound[ROOM];

struct bad_file {
    const char *name;
    enum sl_status status;
    const char *what; /* a part of the message */
};

static void check_bad(void *state, const struct bad_file *bad)
{
    char path[TEMP_PATH_MAX];
    size_t n = 0;
    struct sl_error error = {0};
    temp_folder_name(state, bad->name, path);
    enum sl_status status = read_all_to(sound, path, ROOM, &n, &error);
    if (status != bad->status || strstr(error.what, bad->what) == NULL) {
        fail_msg("%s: %s: %s", bad->name, sl_status_name(status), error.what);
    }
    assert_string_equal(error.where, path);
    assert_non_null(error.mend);
    assert_int_equal(n, 0);
    sl_error_clear(&error);
}

static void what_is_no_sound_is_refused_with_a_clear_answer(void **state)
{
    static const char text[] = "Interior mirror, left mirror, signal left, and so on and on.\n";
    unsigned char header[44 + 8] = {0};
    char path[TEMP_PATH_MAX];
    static const char *const texts[] = {"text.wav", "text.flac", "text.vox", "text.au",
                                        "text.gsm", "text.raw",  "text.mp3"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        temp_folder_name(*state, texts[i], path);
        write_bytes(path, text, sizeof text);
        check_bad(*state, &(struct bad_file){texts[i], SL_FORMAT, "not a sound file"});
    }
    temp_folder_name(*state, "empty.wav", path);
    write_bytes(path, text, 0);
    check_bad(*state, &(struct bad_file){"empty.wav", SL_FORMAT, "empty"});
    temp_folder_name(*state, "folder.wav", path);
    assert_int_equal(mkdir(path, 0700), 0);
    check_bad(*state, &(struct bad_file){"folder.wav", SL_FORMAT, "folder"});
    check_bad(*state, &(struct bad_file){"missing.wav", SL_NOT_FOUND, "no such file"});
    wav_header(header, 16000, 1, 0);
    temp_folder_name(*state, "no-frames.wav", path);
    write_bytes(path, header, 44);
    check_bad(*state, &(struct bad_file){"no-frames.wav", SL_FORMAT, "no sound"});
    wav_header(header, 0, 1, 8);
    temp_folder_name(*state, "no-rate.wav", path);
    write_bytes(path, header, 52);
    check_bad(*state, &(struct bad_file){"no-rate.wav", SL_FORMAT, ""});
    wav_header(header, 7, 1, 8);
    temp_folder_name(*state, "slow.wav", path);
    write_bytes(path, header, 52);
    check_bad(*state, &(struct bad_file){"slow.wav", SL_FORMAT, "7 samples a second"});
    wav_header(header, 2000000000U, 1, 8);
    temp_folder_name(*state, "fast.wav", path);
    write_bytes(path, header, 52);
    check_bad(*state, &(struct bad_file){"fast.wav", SL_FORMAT, "2000000000 samples a second"});
    wav_header(header, 16000, 0, 8);
    temp_folder_name(*state, "no-channel.wav", path);
    write_bytes(path, header, 52);
    check_bad(*state, &(struct bad_file){"no-channel.wav", SL_FORMAT, ""});
    temp_folder_name(*state, "cut-header.wav", path);
    write_bytes(path, header, 20);
    check_bad(*state, &(struct bad_file){"cut-header.wav", SL_FORMAT, ""});
    temp_folder_name(*state, "cut-header.flac", path);
    write_bytes(path, "fLaC\0\0\0\x22\x10\0", 10);
    check_bad(*state, &(struct bad_file){"cut-header.flac", SL_FORMAT, ""});
}

static void a_sound_of_more_than_a_day_is_refused(void **state)
{
    unsigned char header[44];
    char path[TEMP_PATH_MAX];
    /* 4 GB of 16 bit mono at 8 kHz would be 67 hours; the file is sparse. */
    wav_header(header, 8000, 1, 4000000000U);
    temp_folder_name(*state, "days.wav", path);
    write_bytes(path, header, 44);
    assert_int_equal(truncate(path, 4000000044), 0);
    check_bad(*state, &(struct bad_file){"days.wav", SL_TOO_LARGE, "24 hours"});
}

int main(void)
{
#define SOUND_TEST(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        SOUND_TEST(what_is_no_sound_is_refused_with_a_clear_answer),
        SOUND_TEST(a_sound_of_more_than_a_day_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
