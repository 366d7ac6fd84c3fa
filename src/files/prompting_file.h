/*
 * How far prompting has faded, by routine: prompting.json, docs/formats.md, "Prompting file".
 */
#ifndef SL_FILES_PROMPTING_FILE_H
#define SL_FILES_PROMPTING_FILE_H

#include "core/prompting.h"
#include "core/status.h"

/* The state of a routine; sl_fading_start() where the file or the routine in it does not exist.
 * SL_IO, SL_TOO_LARGE, SL_FORMAT (no such file as ours). */
enum sl_status sl_prompting_load(const char *path, const char *routine, struct sl_fading *fading,
                                 struct sl_error *error);

/* Puts the state of a routine into the file, atomically; those of others stay. Errors as above. */
enum sl_status sl_prompting_save(const char *path, const char *routine,
                                 const struct sl_fading *fading, struct sl_error *error);

#endif
