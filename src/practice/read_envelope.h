/*
 * The envelope of a sound file, for the picture of a run.
 */
#ifndef SL_PRACTICE_READ_ENVELOPE_H
#define SL_PRACTICE_READ_ENVELOPE_H

#include "core/envelope.h"

/* Reads the whole file; a peak stands for 20 ms. *envelope is {0} or from an earlier call, and is
 * the caller's to release with sl_envelope_clear. Errors of sl_sound_open and sl_sound_read. */
enum sl_status sl_read_envelope(const char *path, struct sl_envelope *envelope,
                                struct sl_error *error);

#endif
