/*
 * Recording one cue from a microphone: begins with the speech, ends when it ends.
 */
#ifndef SL_PRACTICE_CUE_RECORDER_H
#define SL_PRACTICE_CUE_RECORDER_H

#include "core/status.h"
#include "sound/clip.h"
#include "sound/endpoint.h"

#include <stdbool.h>

/* A take ends when it was quiet for so long after speech. */
#define SL_TAKE_QUIET_S 0.8
/* How long the start of speech is waited for. */
#define SL_TAKE_WAIT_S 8.0

/* A take that was recorded. */
struct sl_take {
    struct sl_clip clip; /* trimmed, at the cues' loudness; empty when there was no speech */
    struct sl_loudness loudness;
    unsigned flaws; /* enum sl_cue_flaw of practice/cue_pack.h */
};

/*
 * Records a take of `text` being said on a running endpoint; what was captured before is thrown
 * away. Ends SL_TAKE_QUIET_S after the speech, at the latest after SL_TAKE_WAIT_S and the longest
 * that the text may take. No speech is a flaw, no error. SL_DEVICE when the microphone is gone or
 * gives nothing. Release with sl_take_clear.
 */
enum sl_status sl_take_record(struct sl_endpoint *endpoint, const char *text, struct sl_take *take,
                              struct sl_error *error);

/* The same of sound that is there already: looks for the speech in it, trims, brings it to the
 * cues' loudness, finds its flaws. */
enum sl_status sl_take_finish(const struct sl_clip *sound, const char *text, struct sl_take *take,
                              struct sl_error *error);

void sl_take_clear(struct sl_take *take);

#endif
