/*
 * Damaged sound files: whatever is done to the bytes of a recording, opening and reading it ends,
 * with a sound or with a clear answer.
 */
#include "sound/sound_reader.h"

#include "mutate.h"

#include "support/temp_folder.h"

#include <sndfile.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define ROUNDS 1500
#define RATE_HZ 16000
/* A damaged length or rate may ask for hours; a reader that goes on for so long goes on. */
#define MOST_SAMPLES (20 * RATE_HZ)
#define ROOM 65536

struct kind {
    const char *name;
    int format, channels;
};

static const struct kind kinds[] = {
    {"mono.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1},
    {"stereo.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 2},
    {"float.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 1},
    {"extensible.wav", SF_FORMAT_WAVEX | SF_FORMAT_PCM_16, 2},
    {"adpcm.wav", SF_FORMAT_WAV | SF_FORMAT_IMA_ADPCM, 1},
    {"mono.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 1},
    {"stereo.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 2},
};

#define N_KINDS (sizeof kinds / sizeof kinds[0])

/* A tenth of a second of tones, written by libsndfile, as bytes. */
static void make(const struct temp_folder *folder, const struct kind *kind, struct bytes *bytes)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(folder, kind->name, path);
    SF_INFO info = {.samplerate = 22050, .channels = kind->channels, .format = kind->format};
    SNDFILE *sound = sf_open(path, SFM_WRITE, &info);
    assert_non_null(sound);
    sf_set_string(sound, SF_STR_TITLE, "a title");
    for (int i = 0; i < 2205; i++) {
        float left = (float)(0.4 * sin(i * 0.05) + 0.2 * sin(i * 0.31));
        float frame[2] = {left, 0.5F * left};
        assert_int_equal(sf_writef_float(sound, frame, 1), 1);
    }
    sf_close(sound);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    bytes->n = fread(bytes->at, 1, bytes->room, file);
    fclose(file);
    assert_true(bytes->n > 100);
}

static void put(const char *path, const struct bytes *bytes)
{
    /* A new file each time: some file systems wait for the disk when one is written over. */
    (void)remove(path);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes->at, 1, bytes->n, file), bytes->n);
    assert_int_equal(fclose(file), 0);
}

/* True when the file could be read as sound. */
static bool read_damaged(const char *path)
{
    struct sl_sound_reader *reader = NULL;
    struct sl_error error = {0};
    static int16_t samples[4096];
    enum sl_status status = sl_sound_open(path, RATE_HZ, &reader, &error);
    bool opened = status == SL_OK;
    size_t total = 0;
    size_t n = 1;
    while (status == SL_OK && n > 0 && total < MOST_SAMPLES) {
        status = sl_sound_read(reader, samples, 4096, &n, &error);
        assert_true(n <= 4096);
        total += n;
    }
    if (status != SL_OK) {
        assert_int_equal(error.status, status);
        assert_non_null(error.what);
        assert_string_equal(error.where, path);
    }
    if (opened) {
        struct sl_level_report report = sl_sound_levels(reader);
        assert_true(report.peak_db <= 0 && isfinite(report.speech_db) && report.duration_s >= 0);
    }
    sl_sound_close(reader);
    sl_error_clear(&error);
    return opened;
}

static void damaged_recordings_are_read_or_refused(void **state)
{
    (void)state;
    struct temp_folder folder = {{0}};
    assert_int_equal(temp_folder_make(&folder), 0);
    struct bytes whole = {malloc(ROOM), 0, ROOM};
    struct bytes damaged = {malloc(ROOM), 0, ROOM};
    assert_non_null(whole.at);
    assert_non_null(damaged.at);
    for (size_t kind = 0; kind < N_KINDS; kind++) {
        char path[TEMP_PATH_MAX];
        size_t opened = 0;
        make(&folder, &kinds[kind], &whole);
        temp_folder_name(&folder, kinds[kind].name, path);
        for (uint64_t round = 0; round < ROUNDS; round++) {
            uint64_t drawn = round * N_KINDS + kind;
            memcpy(damaged.at, whole.at, whole.n);
            damaged.n = whole.n;
            mutate(&drawn, &damaged, 120);
            put(path, &damaged);
            opened += read_damaged(path) ? 1 : 0;
        }
        print_message("%s: %zu of %d read\n", kinds[kind].name, opened, ROUNDS);
        /* Neither all refused nor all read: the damage reaches what is to be tested. */
        assert_in_range(opened, ROUNDS / 20, ROUNDS * 19 / 20);
    }
    free(whole.at);
    free(damaged.at);
    temp_folder_remove(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(damaged_recordings_are_read_or_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
