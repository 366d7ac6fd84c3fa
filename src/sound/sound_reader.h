/*
 * Reading a sound file as a stream of 16 kHz mono samples (libsndfile, libsamplerate). Any format,
 * rate and channel count that libsndfile reads; memory does not grow with length.
 */
#ifndef SL_SOUND_SOUND_READER_H
#define SL_SOUND_SOUND_READER_H

#include "core/levels.h"
#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

struct sl_sound_reader;

/*
 * Opens `path` ("-": standard input, read to its end into a temporary file when it cannot seek) and
 * delivers at `rate_hz`. Errors: SL_NOT_FOUND, SL_IO, SL_FORMAT (not a sound file, 0 Hz, no
 * channel, an empty file, no frame), SL_TOO_LARGE (more than 24 hours).
 */
enum sl_status sl_sound_open(const char *path, int rate_hz, struct sl_sound_reader **reader,
                             struct sl_error *error);

/* Length in seconds as the file says; 0 when it does not know. */
double sl_sound_duration_s(const struct sl_sound_reader *reader);

/*
 * The next up to `room` samples: channels averaged, resampled, not-a-number read as 0, clamped.
 * *n_samples 0 with SL_OK: the end. A file that is cut short ends there. SL_IO when reading fails.
 */
enum sl_status sl_sound_read(struct sl_sound_reader *reader, int16_t *samples, size_t room,
                             size_t *n_samples, struct sl_error *error);

/* Levels of what was read so far, measured before resampling (clipping survives it there). */
struct sl_level_report sl_sound_levels(const struct sl_sound_reader *reader);

/* NULL is fine. */
void sl_sound_close(struct sl_sound_reader *reader);

#endif
