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

/*
 * Names of the voices built in, NULL-terminated: "awb" (Scottish English), "kal16", "rms", "slt".
 * "kal" speaks too: kal16 at 8 kHz, too dull to be offered, good for trying the recogniser.
 */
const char *const *sl_voices(void);

/* Mono sound of a text. */
struct sl_spoken {
    int16_t *samples; /* freed by the caller */
    size_t n_samples;
    int rate_hz;
    size_t speech_from, speech_to; /* where the phones begin and end; silence is around them */
};

/*
 * Speaks `text`; `manner` may be NULL. SL_NOT_FOUND for an unknown voice, SL_INVALID for a manner
 * beyond 0.2 to 5, SL_UNSUPPORTED for a text that makes no sound. The same words in the same manner
 * give the same samples. Not safe to call from two threads at once (libflite keeps global state),
 * and it restarts rand().
 */
enum sl_status sl_speak(const char *voice, const char *text, const struct sl_manner *manner,
                        struct sl_spoken *spoken, struct sl_error *error);

#endif
