/*
 * Telling speech from pauses while the sound comes, by its level alone: the noise is followed as
 * the least level of the last three seconds, the voice as a level that sinks slowly.
 */
#ifndef SL_SPEECH_PAUSES_H
#define SL_SPEECH_PAUSES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_PAUSES_SMOOTHED 3 /* frames whose mean power is looked at */
#define SL_PAUSES_SPANS 6    /* of half a second each: how far back the noise is looked for */

/* Initialise with sl_pauses_start. */
struct sl_pauses {
    double power[SL_PAUSES_SMOOTHED]; /* of the last frames, full scale 1 */
    double least_db[SL_PAUSES_SPANS]; /* level of each span, the one at hand first */
    size_t n_frames;                  /* so far */
    double noise_db, voice_db;        /* dBFS */
};

void sl_pauses_start(struct sl_pauses *pauses);

/* The next frame of 10 ms (SL_FRAME_SAMPLES, or fewer at the end); true when somebody speaks in it.
 * Before the first three seconds are over what is above -60 dBFS passes for a voice. */
bool sl_pauses_add(struct sl_pauses *pauses, const int16_t *samples, size_t n_samples);

/* How far the voice stands above the noise, as struct sl_activity has it; 0 to 100. */
double sl_pauses_snr_db(const struct sl_pauses *pauses);

#endif
