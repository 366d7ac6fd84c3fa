/*
 * Writing a FLAC file while it is being recorded (libsndfile): under its final name from the first
 * sample, in whole frames, synced to the disk every half second. A program that is killed or a
 * power cut leaves a file that plays up to the last second; only its header does not know the
 * length then.
 *
 * Syncing waits for the disk: never call this from a thread that handles sound in real time.
 */
#ifndef SL_SOUND_SOUND_STREAM_H
#define SL_SOUND_SOUND_STREAM_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

/* At most so much sound is not on the disk yet. */
#define SL_SOUND_STREAM_SYNC_S 0.5

struct sl_sound_stream;

/*
 * Creates the file `path`, which only the user may read, and makes missing folders above it. Mono,
 * 16 bit, `rate_hz` 8000 to 96000. SL_INVALID when a file of that name is there already: a
 * recording is never overwritten. SL_UNSUPPORTED for a rate, SL_IO.
 */
enum sl_status sl_sound_stream_open(const char *path, int rate_hz, struct sl_sound_stream **stream,
                                    struct sl_error *error);

/*
 * Adds samples. SL_IO when the disk is full or the file can take no more: what was written stays
 * and plays, and nothing more can be added.
 */
enum sl_status sl_sound_stream_write(struct sl_sound_stream *stream, const int16_t *samples,
                                     size_t n, struct sl_error *error);

/* Writes the length into the header, syncs, and releases the stream in every case. SL_IO; the
 * recording stays also then. NULL is fine. */
enum sl_status sl_sound_stream_close(struct sl_sound_stream *stream, struct sl_error *error);

#endif
