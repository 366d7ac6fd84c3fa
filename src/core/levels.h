/*
 * Levels of a sound, measured while it streams: is there speech in it, is it loud enough, clean
 * enough?
 *
 * dBFS here is the plain root mean square against full scale 1.0: a square wave at full scale has
 * 0 dBFS, a sine at full scale -3.01. (AES17 lifts all by 3.01 dB, so that the sine has 0.)
 */
#ifndef SL_CORE_LEVELS_H
#define SL_CORE_LEVELS_H

#include <stdbool.h>
#include <stddef.h>

#define SL_LEVEL_BINS 121 /* one a decibel, -120 to 0 dBFS */

/* Initialise with sl_levels_init. Fixed size, whatever the length of the sound. */
struct sl_levels {
    double rate_hz;
    size_t frame_samples; /* 20 ms */
    size_t in_frame;
    double frame_energy;
    size_t bins[SL_LEVEL_BINS]; /* frames by their level */
    size_t frames;
    size_t zero_frames; /* of exact zeros in a row, up to now; not in the bins yet */
    size_t samples;
    size_t clipped; /* samples in runs of at least 3 at full scale */
    size_t run;     /* of samples at full scale, up to now */
    size_t broken;  /* samples that are no finite number; a caller that mends such samples before
                       they come here adds them here */
    double peak;    /* 0 to 1 */
};

/* What is wrong with a sound; bits. X(code, word, text for people with the mend) */
#define SL_NOTICE_MAP(X)                                                                           \
    X(SL_NOTICE_SILENT, 1, "silent", "no speech in it: check that the right microphone is on")     \
    X(SL_NOTICE_CLIPPED, 2, "clipped",                                                             \
      "too loud, the peaks are cut off: turn the microphone down or move back")                    \
    X(SL_NOTICE_QUIET, 4, "too-quiet", "too quiet: turn the microphone up or come closer")         \
    X(SL_NOTICE_NOISY, 8, "too-noisy",                                                             \
      "much noise behind the voice: find a quieter room or come closer to the microphone")         \
    X(SL_NOTICE_DAMAGED, 16, "damaged",                                                            \
      "some of it is not sound but values that are no numbers: export it again or record anew")

enum sl_notice {
#define SL_NOTICE_ENUM(code, bit, word, text) code = (bit),
    SL_NOTICE_MAP(SL_NOTICE_ENUM)
#undef SL_NOTICE_ENUM
};

struct sl_level_report {
    double duration_s;
    double peak_db;   /* dBFS, -120 at the least, as all below */
    double speech_db; /* level of the louder frames: 95th percentile of frames, or the 80th of those
                         that stand 6 dB out of the noise where that is more (a long sound with
                         little speech in it); to the nearest dB, as noise_db */
    double noise_db;  /* 10th percentile of frames */
    double snr_db;    /* speech_db - noise_db, as power: 10 log10(10^(speech/10) - 10^(noise/10)) -
                         noise; at least 0 */
    double clipped_share; /* of samples */
    double broken_share;  /* of samples */
    unsigned notices;     /* enum sl_notice bits */
};

/* 0 < rate_hz <= 1e6. */
void sl_levels_init(struct sl_levels *levels, double rate_hz);

/* Adds mono samples, -1 to 1. Not-a-number counts as 0, beyond 1 as 1. Half a second or more of
 * exact zeros tells nothing of the noise in a room, as no microphone gives them: something muted
 * it. Such a stretch is left out of the levels. */
void sl_levels_add(struct sl_levels *levels, const float *samples, size_t n);

/* The report so far. A frame that is not full counts only when there is no other. A sound without
 * samples is silent. `silent` comes without too-quiet and too-noisy. */
struct sl_level_report sl_levels_report(const struct sl_levels *levels);

/* Those of the report's notices that are bad enough to hide words from the recogniser. A voice that
 * is only a little too quiet or cut off is understood all the same. */
unsigned sl_levels_hiding(const struct sl_level_report *report);

#endif
