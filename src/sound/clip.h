/*
 * A clip: a short piece of speech in memory, mono, 16 bit, SL_CLIP_RATE_HZ.
 */
#ifndef SL_SOUND_CLIP_H
#define SL_SOUND_CLIP_H

#include "core/status.h"
#include "sound/loudness.h"

#include <stddef.h>
#include <stdint.h>

#define SL_CLIP_RATE_HZ 16000
/* No cue is longer; a longer file is refused. */
#define SL_CLIP_MAX_S 30.0

/* Initialise with {0}; release with sl_clip_clear. */
struct sl_clip {
    int16_t *samples; /* owned */
    size_t n;
};

double sl_clip_length_s(const struct sl_clip *clip);

/* Takes a copy of samples at SL_CLIP_RATE_HZ. */
enum sl_status sl_clip_copy(const int16_t *samples, size_t n, struct sl_clip *clip,
                            struct sl_error *error);

/* Adds samples at the end; NULL: silence. SL_TOO_LARGE beyond SL_CLIP_MAX_S. */
enum sl_status sl_clip_append(struct sl_clip *clip, const int16_t *samples, size_t n,
                              struct sl_error *error);

/* Reads any sound file, resampled and mixed down. Errors as sl_sound_open; SL_TOO_LARGE. */
enum sl_status sl_clip_load(const char *path, struct sl_clip *clip, struct sl_error *error);

/* Writes a file (.flac or .wav), whole or not at all. */
enum sl_status sl_clip_save(const char *path, const struct sl_clip *clip, struct sl_error *error);

/* Cuts off what is more than 45 dB below the peak at both ends, but for 5 ms in front and 20 ms
 * behind, which are faded: the clip then begins where it is heard to begin. Silence stays whole. */
void sl_clip_trim(struct sl_clip *clip);

enum sl_status sl_clip_measure(const struct sl_clip *clip, struct sl_loudness *loudness,
                               struct sl_error *error);

/*
 * Brings the clip to SL_LOUDNESS_TARGET_LUFS, or as near as SL_TRUE_PEAK_MAX_DBTP allows, and
 * measures the result. Silence is SL_INVALID.
 */
enum sl_status sl_clip_normalise(struct sl_clip *clip, struct sl_loudness *loudness,
                                 struct sl_error *error);

void sl_clip_clear(struct sl_clip *clip);

#endif
