/*
 * What a microphone and the way behind it leave of a sound.
 */
#ifndef CORPUS_MICROPHONE_H
#define CORPUS_MICROPHONE_H

#include "voice.h"

enum corpus_microphone {
    CORPUS_MICROPHONE_FLAT,
    CORPUS_MICROPHONE_LAPTOP, /* nothing low and nothing high: 180 Hz to 6.5 kHz, falling gently */
    CORPUS_MICROPHONE_PHONE /* a telephone's band, 300 to 3400 Hz (ITU-T G.712), sampled at 8 kHz */
};

/* "flat", "laptop", "phone" */
const char *corpus_microphone_word(enum corpus_microphone microphone);

/* The sound stays at CORPUS_RATE_HZ, as long as it was. */
enum sl_status corpus_microphone_apply(enum corpus_microphone microphone,
                                       struct corpus_sound *sound, struct sl_error *error);

#endif
