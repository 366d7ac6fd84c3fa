/*
 * Speaking text with libflite, in memory.
 */
#ifndef SL_SOUND_SPEAK_H
#define SL_SOUND_SPEAK_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

/* How a voice speaks; {0} is the voice as it is. */
struct sl_manner {
    double stretch; /* 1: as it is; 1.2: a fifth slower; 0 means 1 */
    double pitch;   /* factor on the pitch; 0 means 1 */
};

/* Names of the voices built in, NULL-terminated: "awb" (Scottish English), "kal16", "rms", "slt".
 */
const char *const *sl_voices(void);

/*
 * Speaks `text`; *samples (freed by the caller) at *rate_hz, mono. SL_NOT_FOUND for an unknown
 * voice. Not safe to call from two threads at once (libflite keeps global state).
 */
enum sl_status sl_speak(const char *voice, const char *text, const struct sl_manner *manner,
                        int16_t **samples, size_t *n_samples, int *rate_hz, struct sl_error *error);

#endif
