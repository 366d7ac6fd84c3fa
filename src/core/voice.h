/*
 * What listening keeps of a learner's voice: the mean of its cepstral features, which is how this
 * voice sounds through this microphone in this room.
 */
#ifndef SL_CORE_VOICE_H
#define SL_CORE_VOICE_H

#include "core/cepstra.h"

#include <stdbool.h>

/* {0}: not known. */
struct sl_voice {
    bool known;
    double mean[SL_VOICE_CEPSTRA]; /* finite, within -200 to 200 */
};

#endif
