/*
 * Writing a mono sound file (libsndfile): to a temporary file beside the target, synced, then
 * renamed, so that a file is there whole or not at all.
 */
#ifndef SL_SOUND_SOUND_WRITER_H
#define SL_SOUND_SOUND_WRITER_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

struct sl_sound_writer;

/* The format follows from the ending: .flac or .wav, 16 bit. SL_UNSUPPORTED for others, SL_IO. */
enum sl_status sl_sound_create(const char *path, int rate_hz, struct sl_sound_writer **writer,
                               struct sl_error *error);

enum sl_status sl_sound_write(struct sl_sound_writer *writer, const int16_t *samples, size_t n,
                              struct sl_error *error);

/* Finishes and renames; releases the writer in every case. After an error nothing is left behind.
 */
enum sl_status sl_sound_finish(struct sl_sound_writer *writer, struct sl_error *error);

/* Throws the file away and releases the writer. NULL is fine. */
void sl_sound_abandon(struct sl_sound_writer *writer);

#endif
