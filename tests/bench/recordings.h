/*
 * What the benches do with recordings: find them, load them, take the time.
 */
#ifndef BENCH_RECORDINGS_H
#define BENCH_RECORDINGS_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

/* Processor time of this process so far. */
double bench_cpu_s(void);

/* Called with the path of a file. */
typedef enum sl_status bench_visit(void *user, const char *path, struct sl_error *error);

/* Visits the files of a folder that end in `ending`, in the order of their names, until one fails.
 */
enum sl_status bench_each_file(const char *folder, const char *ending, bench_visit *visit,
                               void *user, struct sl_error *error);

/* The recording beside a label file; the caller frees; NULL when memory runs out. */
char *bench_sound_beside(const char *labels_path, const char *file);

/* A sound at 16 kHz. Initialise with {0}; free `samples`. */
struct bench_sound {
    int16_t *samples;
    size_t n;
};

/* Appends a sound file; ".raw" is 16 kHz 16 bit mono without a header. */
enum sl_status bench_sound_append(const char *path, struct bench_sound *sound,
                                  struct sl_error *error);

/* Appends silence. */
enum sl_status bench_sound_pause(double seconds, struct bench_sound *sound, struct sl_error *error);

#endif
