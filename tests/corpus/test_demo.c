/*
 * The recordings in audio/demo are those that the generator makes.
 */
#include "demo.h"
#include "labels.h"
#include "voice.h"

#include "core/str.h"
#include "sound/sound_reader.h"
#include "support/temp_folder.h"

#include <math.h>
#include <sys/stat.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define SHIPPED SL_SOURCE_DIR "/audio/demo"
/* Another libm or processor may round the last bits of a sample otherwise. */
#define SAMPLE_SLACK 4
#define MOST_BYTES ((off_t)4 * 1024 * 1024)

struct made {
    struct temp_folder folder;
    const char **names;
};

static int make_all(void **state)
{
    static struct made made;
    made.names = corpus_demo_names();
    *state = &made;
    struct sl_error error = {0};
    if (made.names == NULL || temp_folder_make(&made.folder) != 0 ||
        corpus_demo_make(made.folder.path, &error) != SL_OK) {
        print_error("%s\n", error.what == NULL ? "nothing was made" : error.what);
        sl_error_clear(&error);
        return -1;
    }
    return 0;
}

static int remove_all(void **state)
{
    struct made *made = *state;
    temp_folder_remove(&made->folder);
    free(made->names);
    return 0;
}

static char *path_of(const char *folder, const char *name, const char *ending)
{
    char *path = sl_strf("%s/%s%s", folder, name, ending);
    assert_non_null(path);
    return path;
}

static struct sl_sound_reader *open_sound(const char *folder, const char *name)
{
    char *path = path_of(folder, name, ".flac");
    struct sl_sound_reader *reader = NULL;
    struct sl_error error = {0};
    if (sl_sound_open(path, CORPUS_RATE_HZ, &reader, &error) != SL_OK) {
        fail_msg("%s: %s", path, error.what);
    }
    free(path);
    return reader;
}

static void assert_same_block(const int16_t *x, const int16_t *y, size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++) {
        if (abs(x[i] - y[i]) > SAMPLE_SLACK) {
            fail_msg("%s: %d, not %d, at %zu of a block", name, y[i], x[i], i);
        }
    }
}

/* Fails unless both hold the same sound; returns its length in samples. */
static size_t compare_sounds(const char *a, const char *b, const char *name)
{
    struct sl_sound_reader *first = open_sound(a, name);
    struct sl_sound_reader *second = open_sound(b, name);
    size_t total = 0;
    size_t n = 1;
    while (n > 0) {
        int16_t x[4096];
        int16_t y[4096];
        size_t m = 0;
        assert_int_equal(sl_sound_read(first, x, 4096, &n, NULL), SL_OK);
        assert_int_equal(sl_sound_read(second, y, 4096, &m, NULL), SL_OK);
        assert_int_equal(n, m);
        assert_same_block(x, y, n, name);
        total += n;
    }
    sl_sound_close(first);
    sl_sound_close(second);
    return total;
}

static char *read_text(const char *path)
{
    struct sl_str text = {0};
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        fail_msg("%s cannot be opened", path);
        return NULL;
    }
    char chunk[1024];
    size_t n;
    while ((n = fread(chunk, 1, sizeof chunk, file)) > 0) {
        sl_str_add_bytes(&text, chunk, n);
    }
    fclose(file);
    return sl_str_take(&text);
}

static void the_shipped_recordings_are_made_again_by_the_generator(void **state)
{
    const struct made *made = *state;
    for (const char **name = made->names; *name != NULL; name++) {
        assert_true(compare_sounds(SHIPPED, made->folder.path, *name) > (size_t)5 * CORPUS_RATE_HZ);
    }
}

static void their_labels_are_too(void **state)
{
    const struct made *made = *state;
    for (const char **name = made->names; *name != NULL; name++) {
        char *shipped_path = path_of(SHIPPED, *name, ".labels");
        char *made_path = path_of(made->folder.path, *name, ".labels");
        char *shipped = read_text(shipped_path);
        char *anew = read_text(made_path);
        assert_string_equal(shipped, anew);
        free(shipped_path);
        free(made_path);
        free(shipped);
        free(anew);
    }
}

/* Labels read back are those written: a second writing gives the same file. */
static void labels_survive_reading_and_writing(void **state)
{
    const struct made *made = *state;
    for (const char **name = made->names; *name != NULL; name++) {
        char *path = path_of(made->folder.path, *name, ".labels");
        char *copy_path = path_of(made->folder.path, *name, ".again");
        struct corpus_labels labels = {0};
        assert_int_equal(corpus_labels_read(path, &labels, NULL), SL_OK);
        assert_int_equal(corpus_labels_write(&labels, copy_path, NULL), SL_OK);
        char *text = read_text(path);
        char *copy = read_text(copy_path);
        assert_string_equal(text, copy);
        corpus_labels_clear(&labels);
        free(path);
        free(copy_path);
        free(text);
        free(copy);
    }
}

static void every_recording_is_in_the_list_of_its_folder(void **state)
{
    const struct made *made = *state;
    char *list = read_text(SHIPPED "/README.md");
    off_t bytes = 0;
    for (const char **name = made->names; *name != NULL; name++) {
        char *path = path_of(SHIPPED, *name, ".flac");
        struct stat file;
        assert_int_equal(stat(path, &file), 0);
        bytes += file.st_size;
        assert_non_null(strstr(list, strrchr(path, '/') + 1));
        free(path);
    }
    assert_true(bytes < MOST_BYTES);
    free(list);
}

static double rms_between(const int16_t *samples, double from_s, double to_s)
{
    double sum = 0;
    size_t from = (size_t)(from_s * CORPUS_RATE_HZ);
    size_t to = (size_t)(to_s * CORPUS_RATE_HZ);
    for (size_t i = from; i < to; i++) {
        sum += (double)samples[i] * samples[i];
    }
    return sqrt(sum / (double)(to - from));
}

/* In a clean recording the sound itself shows where speech begins: quiet just before the label, not
 * just after. */
static void labels_begin_where_the_sound_does(void **state)
{
    const struct made *made = *state;
    static int16_t samples[(size_t)60 * CORPUS_RATE_HZ];
    static const char *const names[] = {"clean-t-left-open", "clean-t-right-closed"};
    for (size_t i = 0; i < 2; i++) {
        struct sl_sound_reader *reader = open_sound(made->folder.path, names[i]);
        size_t n = 0;
        assert_int_equal(
            sl_sound_read(reader, samples, sizeof samples / sizeof samples[0], &n, NULL), SL_OK);
        sl_sound_close(reader);
        char *path = path_of(made->folder.path, names[i], ".labels");
        struct corpus_labels labels = {0};
        assert_int_equal(corpus_labels_read(path, &labels, NULL), SL_OK);
        assert_true(labels.n_said >= 5);
        for (size_t k = 0; k < labels.n_said; k++) {
            const struct corpus_said *said = &labels.said[k];
            double before = rms_between(samples, said->start_s - 0.03, said->start_s - 0.001);
            double after = rms_between(samples, said->start_s, said->start_s + 0.03);
            double later = rms_between(samples, said->end_s + 0.001, said->end_s + 0.03);
            assert_true(after > 3 * before);
            assert_true(after > later);
        }
        corpus_labels_clear(&labels);
        free(path);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_shipped_recordings_are_made_again_by_the_generator),
        cmocka_unit_test(their_labels_are_too),
        cmocka_unit_test(labels_survive_reading_and_writing),
        cmocka_unit_test(every_recording_is_in_the_list_of_its_folder),
        cmocka_unit_test(labels_begin_where_the_sound_does),
    };
    return cmocka_run_group_tests(tests, make_all, remove_all);
}
