#include "sound/sound_stream.h"

#include "sound/sound_reader.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/temp_folder.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>

#define RATE 16000
#define SECONDS 12
#define WHOLE ((size_t)SECONDS * RATE) /* samples */
#define LEAST (WHOLE - RATE)

/* Noise: nothing that an encoder can shorten by much. */
static void fill(int16_t *samples, size_t n)
{
    unsigned state = 7;
    for (size_t i = 0; i < n; i++) {
        state = state * 1664525U + 1013904223U;
        samples[i] = (int16_t)(state >> 18);
    }
}

static size_t read_back(const char *path, int16_t *samples, size_t room)
{
    struct sl_sound_reader *reader = NULL;
    size_t n = 0;
    size_t got = 1;
    assert_int_equal(sl_sound_open(path, RATE, &reader, NULL), SL_OK);
    while (got > 0 && n < room) {
        assert_int_equal(sl_sound_read(reader, samples + n, room - n, &got, NULL), SL_OK);
        n += got;
    }
    sl_sound_close(reader);
    return n;
}

/* The reference decoder of the format (flac) takes it too. */
static void check_with_flac(const char *path)
{
    char command[TEMP_PATH_MAX + 64];
    snprintf(command, sizeof command, "flac --totally-silent --test %s", path);
    int code = system(command); // NOLINT(cert-env33-c): a path of our own
    assert_int_equal(code, 0);
}

struct file {
    struct temp_folder folder;
    char path[TEMP_PATH_MAX];
    int16_t *written, *read;
};

static int set_up(void **state)
{
    struct file *file = calloc(1, sizeof *file);
    assert_int_equal(temp_folder_make(&file->folder), 0);
    temp_folder_name(&file->folder, "run.flac", file->path);
    file->written = malloc(WHOLE * sizeof(int16_t));
    file->read = malloc(2 * WHOLE * sizeof(int16_t));
    fill(file->written, WHOLE);
    *state = file;
    return 0;
}

static int tear_down(void **state)
{
    struct file *file = *state;
    temp_folder_remove(&file->folder);
    free(file->written);
    free(file->read);
    free(file);
    return 0;
}

static void what_is_written_in_pieces_is_read_whole(void **state)
{
    struct file *file = *state;
    struct sl_sound_stream *stream = NULL;
    assert_int_equal(sl_sound_stream_open(file->path, RATE, &stream, NULL), SL_OK);
    for (size_t at = 0, n = 1; at < WHOLE; at += n, n = n * 7 % 9973) {
        n = n < WHOLE - at ? n : WHOLE - at;
        assert_int_equal(sl_sound_stream_write(stream, file->written + at, n, NULL), SL_OK);
    }
    assert_int_equal(sl_sound_stream_close(stream, NULL), SL_OK);
    assert_int_equal(read_back(file->path, file->read, 2 * WHOLE), WHOLE);
    assert_memory_equal(file->read, file->written, WHOLE * sizeof(int16_t));
    check_with_flac(file->path);
    struct stat about;
    assert_int_equal(stat(file->path, &about), 0);
    assert_int_equal(about.st_mode & 0777, 0600);
}

/* SIGKILL: no clean-up of any kind runs. */
static void a_killed_writer_leaves_all_but_the_last_second(void **state)
{
    struct file *file = *state;
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct sl_sound_stream *stream = NULL;
        if (sl_sound_stream_open(file->path, RATE, &stream, NULL) == SL_OK &&
            sl_sound_stream_write(stream, file->written, WHOLE, NULL) == SL_OK) {
            kill(getpid(), SIGKILL);
        }
        _exit(1);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status));
    size_t n = read_back(file->path, file->read, 2 * WHOLE);
    assert_in_range(n, LEAST, WHOLE);
    assert_memory_equal(file->read, file->written, n * sizeof(int16_t));
    check_with_flac(file->path);
}

/* A limit on the size of files is a disk that is full. */
static void a_full_disk_is_said_and_what_fitted_plays(void **state)
{
    struct file *file = *state;
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct rlimit limit = {100000, 100000};
        struct sl_error error = {0};
        struct sl_sound_stream *stream = NULL;
        (void)signal(SIGXFSZ, SIG_IGN);
        bool right = setrlimit(RLIMIT_FSIZE, &limit) == 0 &&
                     sl_sound_stream_open(file->path, RATE, &stream, NULL) == SL_OK &&
                     sl_sound_stream_write(stream, file->written, WHOLE, &error) == SL_IO &&
                     sl_sound_stream_write(stream, file->written, RATE, NULL) == SL_IO &&
                     sl_sound_stream_close(stream, NULL) == SL_IO &&
                     strstr(error.what, "cannot be written") != NULL &&
                     strcmp(error.where, file->path) == 0;
        sl_error_clear(&error);
        _exit(right ? 0 : 1);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    size_t n = read_back(file->path, file->read, 2 * WHOLE);
    assert_in_range(n, WHOLE / 6, LEAST); /* 100 kB hold about four seconds of this */
    assert_memory_equal(file->read, file->written, n * sizeof(int16_t));
    check_with_flac(file->path);
}

static void what_cannot_be_made_is_refused(void **state)
{
    struct file *file = *state;
    struct sl_sound_stream *stream = NULL;
    assert_int_equal(sl_sound_stream_open("/proc/none/run.flac", RATE, &stream, NULL), SL_IO);
    assert_int_equal(sl_sound_stream_open(file->path, 0, &stream, NULL), SL_UNSUPPORTED);
    assert_int_equal(sl_sound_stream_open(file->path, RATE, &stream, NULL), SL_OK);
    assert_int_equal(sl_sound_stream_close(stream, NULL), SL_OK);
    assert_int_equal(sl_sound_stream_open(file->path, RATE, &stream, NULL), SL_INVALID);
    assert_int_equal(sl_sound_stream_close(NULL, NULL), SL_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_is_written_in_pieces_is_read_whole, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_killed_writer_leaves_all_but_the_last_second, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_full_disk_is_said_and_what_fitted_plays, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(what_cannot_be_made_is_refused, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
