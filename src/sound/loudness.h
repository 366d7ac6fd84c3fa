/*
 * Loudness and true peak (EBU R 128, ITU-R BS.1770; libebur128, which no other file knows).
 */
#ifndef SL_SOUND_LOUDNESS_H
#define SL_SOUND_LOUDNESS_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

/*
 * What cues are brought to: the programme level of EBU R 128. It is a published level with a
 * published meter, and it leaves room for the peaks of every voice, so that no cue needs a limiter;
 * how loud it is in the room is the volume control's business.
 */
#define SL_LOUDNESS_TARGET_LUFS (-23.0)
#define SL_LOUDNESS_TOLERANCE_LU 1.0
/* EBU R 128: the highest true peak. */
#define SL_TRUE_PEAK_MAX_DBTP (-1.0)

/* Frames of interleaved 16-bit samples. */
struct sl_frames {
    const int16_t *samples; /* not owned */
    size_t n_frames;
    unsigned channels; /* 1 to 2; one channel counts once, as one speaker */
    unsigned rate_hz;  /* 8000 to 192000 */
};

struct sl_loudness {
    double integrated_lufs; /* gated; -INFINITY for silence */
    double true_peak_dbtp;  /* four times oversampled; -INFINITY for silence */
};

/*
 * Measures a whole sound. The meter looks at blocks of 0.4 s, so a sound shorter than 3 s is
 * measured as if it went on and on for 3 s: a single word then has the loudness that it would have
 * in a sentence of its like. Errors: SL_INVALID (no frames, channels or rate out of range),
 * SL_NO_MEMORY.
 */
enum sl_status sl_loudness_measure(const struct sl_frames *frames, struct sl_loudness *loudness,
                                   struct sl_error *error);

#endif
