/*
 * The learner's voice that is kept on this machine, ready for a recogniser.
 */
#ifndef SL_PRACTICE_OWN_VOICE_H
#define SL_PRACTICE_OWN_VOICE_H

#include "core/status.h"
#include "files/own_voice.h"

/*
 * Loads the kept voice of a learner (files/learner.h); *voice is not known when there is none, and
 * when there is no home folder. SL_INVALID when it fits another acoustic model than the one that is
 * installed (mend: read again), and errors of sl_own_voice_load and of the acoustic model's files.
 */
enum sl_status sl_own_voice_get(const char *learner, struct sl_own_voice *voice,
                                struct sl_error *error);

/* For sl_recogniser_paths: NULL when the voice is not known. */
const struct sl_mllr *sl_own_voice_mllr(const struct sl_own_voice *voice);

#endif
