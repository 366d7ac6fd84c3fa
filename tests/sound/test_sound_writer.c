#include "sound/sound_writer.h"

#include "support/temp_folder.h"

#include "tones.h"

#include <sndfile.h>

#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

static const char *const endings[] = {"say.wav", "say.flac"};

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

/* Loud enough and random enough that FLAC cannot make it small. */
static void fill_noise(int16_t *samples, size_t n)
{
    uint32_t x = 1;
    for (size_t i = 0; i < n; i++) {
        x = x * 1664525U + 1013904223U;
        samples[i] = (int16_t)((int)(x >> 16) - 32768);
    }
}

static void a_file_is_there_only_when_it_is_finished(void **state)
{
    for (size_t i = 0; i < 2; i++) {
        char path[TEMP_PATH_MAX];
        temp_folder_name(*state, endings[i], path);
        struct sl_sound_writer *writer = NULL;
        int16_t samples[1600] = {0};
        assert_int_equal(sl_sound_create(path, 16000, &writer, NULL), SL_OK);
        assert_int_equal(sl_sound_write(writer, samples, 1600, NULL), SL_OK);
        assert_int_not_equal(access(path, F_OK), 0);
        assert_int_equal(sl_sound_finish(writer, NULL), SL_OK);
        assert_int_equal(access(path, F_OK), 0);
        assert_int_equal(temp_folder_count(*state, 1), 1);
    }
}

static void an_abandoned_file_leaves_nothing(void **state)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(*state, "say.flac", path);
    struct sl_sound_writer *writer = NULL;
    assert_int_equal(sl_sound_create(path, 16000, &writer, NULL), SL_OK);
    assert_int_equal(temp_folder_count(*state, 0), 1);
    sl_sound_abandon(writer);
    assert_int_equal(temp_folder_count(*state, 0), 0);
    sl_sound_abandon(NULL);
}

/* Read back with libsndfile itself. */
static void what_is_written_is_mono_of_16_bits_at_its_rate(void **state)
{
    static int16_t samples[22050];
    static int16_t back[22051];
    fill_noise(samples, 22050);
    for (size_t i = 0; i < 2; i++) {
        char path[TEMP_PATH_MAX];
        temp_folder_name(*state, endings[i], path);
        struct sl_sound_writer *writer = NULL;
        assert_int_equal(sl_sound_create(path, 22050, &writer, NULL), SL_OK);
        assert_int_equal(sl_sound_write(writer, samples, 20000, NULL), SL_OK);
        assert_int_equal(sl_sound_write(writer, samples + 20000, 2050, NULL), SL_OK);
        assert_int_equal(sl_sound_finish(writer, NULL), SL_OK);
        SF_INFO info = {0};
        SNDFILE *sound = sf_open(path, SFM_READ, &info);
        assert_non_null(sound);
        assert_int_equal(info.samplerate, 22050);
        assert_int_equal(info.channels, 1);
        assert_int_equal(info.format & SF_FORMAT_SUBMASK, SF_FORMAT_PCM_16);
        assert_int_equal(sf_read_short(sound, back, 22051), 22050);
        assert_memory_equal(back, samples, sizeof samples);
        sf_close(sound);
    }
}

/* A limit on the size of files fails as a full disk does: the write comes back short or fails. */
static enum sl_status write_under_limit(const char *path, rlim_t limit, struct sl_error *error)
{
    static int16_t samples[64000];
    fill_noise(samples, 64000);
    struct sl_sound_writer *writer = NULL;
    struct rlimit before;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    struct rlimit small = {limit, before.rlim_max};
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    enum sl_status status = sl_sound_create(path, 16000, &writer, error);
    if (status == SL_OK) {
        status = sl_sound_write(writer, samples, 64000, error);
        if (status == SL_OK) {
            status = sl_sound_finish(writer, error);
        } else {
            sl_sound_abandon(writer);
        }
    }
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    return status;
}

static void a_full_disk_is_told_and_the_old_file_stays(void **state)
{
    /* Of 128,000 bytes: in the header, in the middle, in the last block, which FLAC writes when it
     * is closed. */
    static const rlim_t limits[] = {0, 20, 65536, 120000, 127990};
    signal(SIGXFSZ, SIG_IGN);
    for (size_t i = 0; i < 2; i++) {
        char path[TEMP_PATH_MAX];
        temp_folder_name(*state, endings[i], path);
        FILE *old = fopen(path, "w");
        assert_non_null(old);
        fputs("old", old);
        fclose(old);
        for (size_t k = 0; k < sizeof limits / sizeof limits[0]; k++) {
            struct sl_error error = {0};
            assert_int_equal(write_under_limit(path, limits[k], &error), SL_IO);
            assert_non_null(strstr(error.what, "File too large"));
            assert_string_equal(error.where, path);
            assert_non_null(error.mend);
            sl_error_clear(&error);
            struct stat kept;
            assert_int_equal(stat(path, &kept), 0);
            assert_int_equal(kept.st_size, 3);
            assert_int_equal(temp_folder_count(*state, 0), 1);
        }
        temp_folder_count(*state, 1);
    }
}

static void what_cannot_be_written_is_refused(void **state)
{
    static const struct {
        const char *name;
        int rate_hz;
        enum sl_status status;
    } rows[] = {
        {"say.mp3", 16000, SL_UNSUPPORTED},  {"say", 16000, SL_UNSUPPORTED},
        {".", 16000, SL_UNSUPPORTED},        {"missing/say.flac", 16000, SL_IO},
        {"say.flac", 0, SL_UNSUPPORTED},     {"say.wav", 0, SL_UNSUPPORTED},
        {"say.wav", -16000, SL_UNSUPPORTED},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char path[TEMP_PATH_MAX];
        temp_folder_name(*state, rows[i].name, path);
        struct sl_sound_writer *writer = NULL;
        struct sl_error error = {0};
        assert_int_equal(sl_sound_create(path, rows[i].rate_hz, &writer, &error), rows[i].status);
        assert_null(writer);
        assert_non_null(error.mend);
        sl_error_clear(&error);
        assert_int_equal(temp_folder_count(*state, 0), 0);
    }
}

static void a_name_without_a_folder_is_written_where_one_is(void **state)
{
    const struct temp_folder *folder = *state;
    char before[4096];
    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(folder->path), 0);
    struct sl_sound_writer *writer = NULL;
    assert_int_equal(sl_sound_create("here.wav", 16000, &writer, NULL), SL_OK);
    assert_int_equal(sl_sound_finish(writer, NULL), SL_OK);
    assert_int_equal(access("here.wav", F_OK), 0);
    assert_int_equal(chdir(before), 0);
}

int main(void)
{
#define SOUND_TEST(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        SOUND_TEST(a_file_is_there_only_when_it_is_finished),
        SOUND_TEST(an_abandoned_file_leaves_nothing),
        SOUND_TEST(what_is_written_is_mono_of_16_bits_at_its_rate),
        SOUND_TEST(a_full_disk_is_told_and_the_old_file_stays),
        SOUND_TEST(what_cannot_be_written_is_refused),
        SOUND_TEST(a_name_without_a_folder_is_written_where_one_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
