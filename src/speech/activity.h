/*
 * Where in a stretch of sound somebody speaks, by its level alone, and how far the voice stands
 * above the noise.
 */
#ifndef SL_SPEECH_ACTIVITY_H
#define SL_SPEECH_ACTIVITY_H

#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_NOISE_LEAST_FRAMES ((size_t)30) /* that noise is known from */

/* Initialise with {0}; release with sl_activity_clear. Frames of 10 ms. */
struct sl_activity {
    float *level_db;  /* of each frame, dBFS, -120 at the least */
    bool *speech;     /* within the margin of a frame that is loud enough */
    bool *noise;      /* tells of the noise alone; see sl_activity_measure */
    size_t n_frames;  /* n_samples / 160 + 1: the last may be short or empty */
    double noise_db;  /* 10th percentile of the frames that are not muted; of all if all are */
    double speech_db; /* 95th percentile */
    double snr_db;    /* 10 log10 of the power of speech less noise over noise; 0 to 100 */
};

/* Measures 16 kHz sound, dithered (dither.h). Frames louder than 2/5 of the way from noise to
 * speech (in dB) are speech, and so is what lies within margin_s of them. Frames of half a second
 * or more of digital silence are muted: no sound of a room. The noise is what is left, muted frames
 * aside; where that is less than SL_NOISE_LEAST_FRAMES, as noise that swells
 * like voices seems speech throughout, what is not loud enough itself. Replaces *activity. */
enum sl_status sl_activity_measure(const int16_t *samples, size_t n_samples, double margin_s,
                                   struct sl_activity *activity, struct sl_error *error);

/* True when the frame itself is loud enough for speech. */
bool sl_activity_loud(const struct sl_activity *activity, size_t frame);

/* Where a phrase begins of which the words were found in the frames from `first` to before `end`:
 * with the voice, where 0.2 to 0.6 s pass before it is loud, as noise in a pause is easily taken
 * for a short word (the, and); at `first` otherwise. Many a first sound (s, f) is not loud, but
 * none is that long. */
size_t sl_activity_onset(const struct sl_activity *activity, size_t first, size_t end);

/* NULL is fine. */
void sl_activity_clear(struct sl_activity *activity);

#endif
