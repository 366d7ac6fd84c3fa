/*
 * Opening what a sound is read from, so that it can be sought in.
 */
#ifndef SL_SOUND_SOUND_SOURCE_H
#define SL_SOUND_SOUND_SOURCE_H

#include "core/status.h"

/*
 * Opens `path` ("-": standard input) for reading. What cannot seek (a pipe) is read to its end into
 * a temporary file that has no name. `name` is for errors. The caller closes *file. Errors:
 * SL_NOT_FOUND, SL_IO, SL_FORMAT (a folder, an empty file), SL_TOO_LARGE (a pipe that gives more
 * than 4 GiB).
 */
enum sl_status sl_source_open(const char *path, const char *name, int *file,
                              struct sl_error *error);

#endif
