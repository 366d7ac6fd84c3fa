#include "sound/sound_reader.h"
#include "sound/sound_writer.h"

#include "core/str.h"
#include "support/temp_folder.h"

#include "sound_files.h"
#include "tones.h"

#include <sndfile.h>

#include <fcntl.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define TONE_HZ 1000.0

static int16_t sound[ROOM];

static enum sl_status read_all(const char *path, size_t chunk, size_t *n, struct sl_error *error)
{
    return read_all_to(sound, path, chunk, n, error);
}

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

/* A second of a tone of half the full scale, written by libsndfile; every other channel silent
 * when `half`. */
static void write_tone(const char *path, int format, int rate_hz, int channels, bool half)
{
    SF_INFO info = {.samplerate = rate_hz, .channels = channels, .format = format};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    float frame[16];
    for (int i = 0; i < rate_hz; i++) {
        for (int channel = 0; channel < channels; channel++) {
            bool silent = half && channel % 2 == 1;
            frame[channel] = silent ? 0 : (float)(0.5 * tone_at(TONE_HZ, rate_hz, (size_t)i));
        }
        assert_int_equal(sf_writef_float(file, frame, 1), 1);
    }
    sf_close(file);
}

static void any_kind_of_file_gives_the_same_tone(void **state)
{
    static const struct {
        const char *name;
        int format, rate_hz, channels;
    } rows[] = {
        {"phone.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 8000, 1},
        {"plain.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 16000, 1},
        {"bytes.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 22050, 1},
        {"disc.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, 2},
        {"film.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 48000, 6},
        {"studio.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 96000, 2},
        {"float.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 44100, 2},
        {"double.wav", SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 32000, 1},
        {"ulaw.wav", SF_FORMAT_WAV | SF_FORMAT_ULAW, 8000, 1},
        {"plain.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 16000, 1},
        {"studio.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 96000, 2},
        {"vorbis.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, 44100, 2},
        {"plain.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 44100, 1},
        {"plain.au", SF_FORMAT_AU | SF_FORMAT_PCM_16, 16000, 1},
        {"plain.caf", SF_FORMAT_CAF | SF_FORMAT_PCM_16, 48000, 2},
        {"ending.txt", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 16000, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char path[TEMP_PATH_MAX];
        size_t n = 0;
        temp_folder_name(*state, rows[i].name, path);
        write_tone(path, rows[i].format, rows[i].rate_hz, rows[i].channels, false);
        assert_int_equal(read_all(path, 777, &n, NULL), SL_OK);
        assert_in_range(n, RATE_HZ - 2, RATE_HZ + 2);
        /* Away from the ends, where the resampler's filter has only half a tone. */
        double amplitude = tone_amplitude(sound + 1600, 12800, TONE_HZ, RATE_HZ);
        assert_float_equal((float)amplitude, 0.5F, 0.01F);
    }
}

static void a_tone_above_what_16_khz_can_hold_is_not_folded_down(void **state)
{
    char path[TEMP_PATH_MAX];
    size_t n = 0;
    temp_folder_name(*state, "high.wav", path);
    SF_INFO info = {.samplerate = 96000, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_24};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    for (size_t i = 0; i < 96000; i++) {
        double x = 0.5 * tone_at(15000, 96000, i);
        sf_write_double(file, &x, 1);
    }
    sf_close(file);
    assert_int_equal(read_all(path, 4096, &n, NULL), SL_OK);
    /* 15 kHz would come back as 16 - 15 = 1 kHz. */
    assert_true(tone_amplitude(sound + 1600, 12800, 1000, RATE_HZ) < 0.5 / 1000);
}

static void channels_are_averaged(void **state)
{
    char path[TEMP_PATH_MAX];
    size_t n = 0;
    temp_folder_name(*state, "half.wav", path);
    write_tone(path, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 16000, 2, true);
    assert_int_equal(read_all(path, 4096, &n, NULL), SL_OK);
    assert_float_equal((float)tone_amplitude(sound, RATE_HZ, TONE_HZ, RATE_HZ), 0.25F, 0.001F);
}

static void sound_of_16_bits_at_16_khz_comes_out_as_it_went_in(void **state)
{
    static int16_t samples[RATE_HZ];
    static const char *const names[] = {"same.wav", "same.flac"};
    for (size_t i = 0; i < RATE_HZ; i++) {
        samples[i] = (int16_t)((int)(i * 40503U % 65536U) - 32768);
    }
    samples[0] = INT16_MIN;
    samples[1] = INT16_MAX;
    for (size_t i = 0; i < 2; i++) {
        char path[TEMP_PATH_MAX];
        size_t n = 0;
        struct sl_sound_writer *writer = NULL;
        temp_folder_name(*state, names[i], path);
        assert_int_equal(sl_sound_create(path, RATE_HZ, &writer, NULL), SL_OK);
        assert_int_equal(sl_sound_write(writer, samples, RATE_HZ, NULL), SL_OK);
        assert_int_equal(sl_sound_finish(writer, NULL), SL_OK);
        assert_int_equal(read_all(path, 1000, &n, NULL), SL_OK);
        assert_int_equal(n, RATE_HZ);
        assert_memory_equal(sound, samples, sizeof samples);
    }
}

static void the_size_of_the_reads_does_not_matter(void **state)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(*state, "tone.wav", path);
    write_tone(path, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, 2, false);
    size_t n = 0;
    assert_int_equal(read_all(path, ROOM, &n, NULL), SL_OK);
    int16_t *whole = malloc(n * sizeof *whole);
    assert_non_null(whole);
    memcpy(whole, sound, n * sizeof *whole);
    static const size_t chunks[] = {1, 160, 1024, 5000};
    for (size_t i = 0; i < sizeof chunks / sizeof chunks[0]; i++) {
        size_t again = 0;
        assert_int_equal(read_all(path, chunks[i], &again, NULL), SL_OK);
        assert_int_equal(again, n);
        assert_memory_equal(sound, whole, n * sizeof *whole);
    }
    free(whole);
}

static void what_is_not_a_number_is_silence_and_what_is_too_large_is_clamped(void **state)
{
    char path[TEMP_PATH_MAX];
    size_t n = 0;
    temp_folder_name(*state, "odd.wav", path);
    SF_INFO info = {
        .samplerate = RATE_HZ, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    const float odd[] = {NAN, INFINITY, -INFINITY, 1e30F, -7.0F, 0.5F, -NAN, 1e-40F};
    assert_non_null(file);
    assert_int_equal(sf_write_float(file, odd, 8), 8);
    sf_close(file);
    assert_int_equal(read_all(path, ROOM, &n, NULL), SL_OK);
    assert_int_equal(n, 8);
    static const int16_t wanted[] = {0, 32767, -32768, 32767, -32768, 16384, 0, 0};
    assert_memory_equal(sound, wanted, sizeof wanted);
}

static void a_file_that_is_cut_short_ends_there(void **state)
{
    static const struct {
        const char *name;
        int format;
    } rows[] = {{"cut.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16},
                {"cut.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16},
                {"cut.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char path[TEMP_PATH_MAX];
        size_t n = 0;
        struct stat whole;
        temp_folder_name(*state, rows[i].name, path);
        write_tone(path, rows[i].format, RATE_HZ, 1, false);
        assert_int_equal(stat(path, &whole), 0);
        assert_int_equal(truncate(path, whole.st_size * 3 / 4), 0);
        assert_int_equal(read_all(path, 1000, &n, NULL), SL_OK);
        assert_in_range(n, RATE_HZ / 8, RATE_HZ * 7 / 8);
    }
}

/* In a child, with `path` as its standard input, or what cat writes into a pipe. */
static void read_as_standard_input(const char *path, bool through_pipe)
{
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        size_t n = 0;
        char *command = NULL;
        int input = open(path, O_RDONLY);
        if (through_pipe) {
            command = sl_strf("cat '%s'", path);
            FILE *pipe = command == NULL ? NULL : popen(command, "r");
            input = pipe == NULL ? -1 : fileno(pipe);
        }
        bool good = input >= 0 && dup2(input, STDIN_FILENO) == STDIN_FILENO &&
                    read_all("-", 1000, &n, NULL) == SL_OK && n == RATE_HZ &&
                    fabs(tone_amplitude(sound, n, TONE_HZ, RATE_HZ) - 0.5) < 0.01;
        _exit(good ? 0 : 1);
    }
    int result = 1;
    assert_int_equal(waitpid(child, &result, 0), child);
    assert_int_equal(result, 0);
}

static void standard_input_is_read_from_a_file_and_from_a_pipe(void **state)
{
    char path[TEMP_PATH_MAX];
    static const struct {
        const char *name;
        int format;
    } rows[] = {{"in.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16},
                {"in.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16}};
    for (size_t i = 0; i < 2; i++) {
        temp_folder_name(*state, rows[i].name, path);
        write_tone(path, rows[i].format, RATE_HZ, 1, false);
        read_as_standard_input(path, false);
        read_as_standard_input(path, true);
    }
}

static void the_length_is_told_before_reading(void **state)
{
    char path[TEMP_PATH_MAX];
    struct sl_sound_reader *reader = NULL;
    temp_folder_name(*state, "second.wav", path);
    write_tone(path, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, 2, false);
    assert_int_equal(sl_sound_open(path, RATE_HZ, &reader, NULL), SL_OK);
    assert_float_equal((float)sl_sound_duration_s(reader), 1.0F, 1e-6F);
    sl_sound_close(reader);
}

static void levels_are_those_of_the_file_before_its_rate_is_changed(void **state)
{
    char path[TEMP_PATH_MAX];
    size_t n = 0;
    struct sl_sound_reader *reader = NULL;
    temp_folder_name(*state, "loud.wav", path);
    SF_INFO info = {.samplerate = 48000, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    sf_command(file, SFC_SET_CLIPPING, NULL, SF_TRUE);
    for (size_t i = 0; i < 96000; i++) {
        double x = 2.0 * tone_at(300, 48000, i);
        sf_write_double(file, &x, 1);
    }
    sf_close(file);
    assert_int_equal(sl_sound_open(path, RATE_HZ, &reader, NULL), SL_OK);
    assert_int_equal(sl_sound_read(reader, sound, ROOM, &n, NULL), SL_OK);
    struct sl_level_report report = sl_sound_levels(reader);
    assert_float_equal((float)report.duration_s, 2.0F, 1e-3F);
    assert_true((report.notices & SL_NOTICE_CLIPPED) != 0);
    /* A sine of twice the full scale is beyond it while |sin| > 1/2: two thirds of the time. */
    assert_float_equal((float)report.clipped_share, 0.667F, 0.02F);
    sl_sound_close(reader);
}

static long peak_memory_kib(void)
{
    struct rusage usage;
    assert_int_equal(getrusage(RUSAGE_SELF, &usage), 0);
    return usage.ru_maxrss;
}

static void two_hours_of_sound_take_no_more_memory_than_a_minute(void **state)
{
    unsigned char header[44];
    char path[TEMP_PATH_MAX];
    struct sl_sound_reader *reader = NULL;
    const uint32_t seconds = 2 * 3600;
    wav_header(header, RATE_HZ, 1, seconds * RATE_HZ * 2);
    temp_folder_name(*state, "hours.wav", path);
    write_bytes(path, header, 44);
    assert_int_equal(truncate(path, 44 + (off_t)seconds * RATE_HZ * 2), 0);
    assert_int_equal(sl_sound_open(path, RATE_HZ, &reader, NULL), SL_OK);
    uint64_t total = 0;
    long after_a_minute = 0;
    size_t n = 1;
    while (n > 0) {
        assert_int_equal(sl_sound_read(reader, sound, ROOM, &n, NULL), SL_OK);
        total += n;
        if (after_a_minute == 0 && total > 60 * RATE_HZ) {
            after_a_minute = peak_memory_kib();
        }
    }
    sl_sound_close(reader);
    assert_int_equal(total, (uint64_t)seconds * RATE_HZ);
    assert_true(peak_memory_kib() - after_a_minute < 1024);
}

int main(void)
{
#define SOUND_TEST(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        SOUND_TEST(any_kind_of_file_gives_the_same_tone),
        SOUND_TEST(a_tone_above_what_16_khz_can_hold_is_not_folded_down),
        SOUND_TEST(channels_are_averaged),
        SOUND_TEST(sound_of_16_bits_at_16_khz_comes_out_as_it_went_in),
        SOUND_TEST(the_size_of_the_reads_does_not_matter),
        SOUND_TEST(what_is_not_a_number_is_silence_and_what_is_too_large_is_clamped),
        SOUND_TEST(a_file_that_is_cut_short_ends_there),
        SOUND_TEST(standard_input_is_read_from_a_file_and_from_a_pipe),
        SOUND_TEST(the_length_is_told_before_reading),
        SOUND_TEST(levels_are_those_of_the_file_before_its_rate_is_changed),
        SOUND_TEST(two_hours_of_sound_take_no_more_memory_than_a_minute),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
