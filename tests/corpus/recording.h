/*
 * A take on disk: NAME.flac and NAME.labels beside it.
 */
#ifndef CORPUS_RECORDING_H
#define CORPUS_RECORDING_H

#include "take.h"

/* Writes both files into `folder`; sets the labels' `file`. */
enum sl_status corpus_recording_write(struct corpus_take *take, const char *folder,
                                      const char *name, struct sl_error *error);

/* Writes a sound alone. */
enum sl_status corpus_recording_sound(const struct corpus_sound *sound, const char *path,
                                      struct sl_error *error);

#endif
