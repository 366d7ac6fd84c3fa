/*
 * Speaking with a learner's manner: one of libflite's or festival's voices, its pitch, pace and
 * vocal tract changed, so that few voices make many speakers.
 */
#ifndef CORPUS_VOICE_H
#define CORPUS_VOICE_H

#include "festival.h"
#include "rng.h"

#include "core/status.h"

#include <stddef.h>

#define CORPUS_RATE_HZ 16000

struct corpus_voice {
    const char *base; /* of sl_speak or corpus_festival_speak */
    double pitch;     /* factor */
    double pace;      /* factor on the speed of speaking */
    double tract;     /* factor on the formants: 1.1 is a vocal tract a tenth shorter */
};

/* Which speakers: "tune" is for choosing settings, "judge" for judging them. No person is in both,
 * whatever the technique by which that voice was made. */
enum corpus_split { CORPUS_TUNE, CORPUS_JUDGE };

/* "tune", "judge" */
const char *corpus_split_word(enum corpus_split split);

struct corpus_speakers {
    enum corpus_split split;
    struct corpus_festival *festival; /* the caller's; NULL: libflite's voices only */
};

/* A speaker of the split; one in three is the voice as it is. */
struct corpus_voice corpus_voice_draw(struct corpus_rng *rng,
                                      const struct corpus_speakers *speakers);

/* Mono samples from -1 to 1 at CORPUS_RATE_HZ; release `samples` with free. */
struct corpus_sound {
    float *samples;
    size_t n;
};

/* Speaks `text` and cuts the silence off both ends. Voices of festival need speakers->festival. */
enum sl_status corpus_voice_speak(const struct corpus_speakers *speakers,
                                  const struct corpus_voice *voice, const char *text,
                                  struct corpus_sound *sound, struct sl_error *error);

#endif
