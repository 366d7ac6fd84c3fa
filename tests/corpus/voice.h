/*
 * Speaking with a learner's manner: one of libflite's voices, its pitch, pace and vocal tract
 * changed, so that few voices make many speakers.
 */
#ifndef CORPUS_VOICE_H
#define CORPUS_VOICE_H

#include "rng.h"

#include "core/status.h"

#include <stddef.h>

#define CORPUS_RATE_HZ 16000

struct corpus_voice {
    const char *base; /* of sl_voices */
    double pitch;     /* factor */
    double pace;      /* factor on the speed of speaking */
    double tract;     /* factor on the formants: 1.1 is a vocal tract a tenth shorter */
};

/* Which speakers: "tune" is for choosing settings, "judge" for judging them. No base voice is in
 * both. */
enum corpus_split { CORPUS_TUNE, CORPUS_JUDGE };

/* A speaker of the split; one in three is the voice as it is. */
struct corpus_voice corpus_voice_draw(struct corpus_rng *rng, enum corpus_split split);

/* Mono samples from -1 to 1 at CORPUS_RATE_HZ; release `samples` with free. */
struct corpus_sound {
    float *samples;
    size_t n;
};

/* Speaks `text` and cuts the silence off both ends. */
enum sl_status corpus_voice_speak(const struct corpus_voice *voice, const char *text,
                                  struct corpus_sound *sound, struct sl_error *error);

#endif
