#include "bench/recordings.h"

#include "core/str.h"
#include "sound/sound_reader.h"
#include "speech/recogniser.h"

#include <dirent.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

double bench_cpu_s(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static bool ends_in(const char *name, const char *ending)
{
    size_t length = strlen(name);
    size_t end = strlen(ending);
    return length > end && strcmp(name + length - end, ending) == 0;
}

enum sl_status bench_each_file(const char *folder, const char *ending, bench_visit *visit,
                               void *user, struct sl_error *error)
{
    struct dirent **entries = NULL;
    int n = scandir(folder, &entries, NULL, alphasort);
    enum sl_status status =
        n >= 0 ? SL_OK : sl_fail(error, SL_IO, folder, NULL, "cannot read the folder");
    for (int i = 0; i < n; i++) {
        if (status == SL_OK && ends_in(entries[i]->d_name, ending)) {
            char *path = sl_strf("%s/%s", folder, entries[i]->d_name);
            status = path == NULL ? sl_fail_memory(error) : visit(user, path, error);
            free(path);
        }
        free(entries[i]);
    }
    free(entries);
    return status;
}

char *bench_sound_beside(const char *labels_path, const char *file)
{
    const char *slash = strrchr(labels_path, '/');
    return sl_strf("%.*s%s", slash != NULL ? (int)(slash - labels_path + 1) : 0, labels_path, file);
}

static bool make_room(struct bench_sound *sound, size_t more)
{
    int16_t *grown = realloc(sound->samples, (sound->n + more) * sizeof *grown);
    if (grown == NULL) {
        return false;
    }
    sound->samples = grown;
    return true;
}

#define BLOCK ((size_t)SL_SPEECH_RATE_HZ)

static enum sl_status append_raw(const char *path, struct bench_sound *sound,
                                 struct sl_error *error)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return sl_fail(error, SL_NOT_FOUND, path, NULL, "the sound cannot be opened");
    }
    enum sl_status status = SL_OK;
    size_t n = 1;
    while (n > 0 && status == SL_OK) {
        if (!make_room(sound, BLOCK)) {
            status = sl_fail_memory(error);
            break;
        }
        n = fread(sound->samples + sound->n, sizeof(int16_t), BLOCK, file);
        sound->n += n;
    }
    (void)fclose(file);
    return status;
}

enum sl_status bench_sound_append(const char *path, struct bench_sound *sound,
                                  struct sl_error *error)
{
    if (ends_in(path, ".raw")) {
        return append_raw(path, sound, error);
    }
    struct sl_sound_reader *reader = NULL;
    enum sl_status status = sl_sound_open(path, SL_SPEECH_RATE_HZ, &reader, error);
    size_t n = 1;
    while (status == SL_OK && n > 0) {
        if (!make_room(sound, BLOCK)) {
            status = sl_fail_memory(error);
            break;
        }
        status = sl_sound_read(reader, sound->samples + sound->n, BLOCK, &n, error);
        sound->n += n;
    }
    sl_sound_close(reader);
    return status;
}

enum sl_status bench_sound_pause(double seconds, struct bench_sound *sound, struct sl_error *error)
{
    size_t n = (size_t)(seconds * SL_SPEECH_RATE_HZ);
    if (!make_room(sound, n)) {
        return sl_fail_memory(error);
    }
    memset(sound->samples + sound->n, 0, n * sizeof *sound->samples);
    sound->n += n;
    return SL_OK;
}
