/*
 * A sound check: a moment of silence, a cue, the learner's voice; what the microphone and the
 * speaker make of them.
 */
#ifndef SL_PRACTICE_SOUNDCHECK_H
#define SL_PRACTICE_SOUNDCHECK_H

#include "core/heard.h"
#include "core/sound_findings.h"
#include "core/voice.h"
#include "sound/clip.h"
#include "sound/endpoint.h"
#include "speech/listener.h"

#include <stdbool.h>

/* Spoken as the cue: it is long enough for the canceller to learn, and says what is next. */
#define SL_SOUNDCHECK_CUE                                                                          \
    "This is the sound check. Please stay quiet while I am speaking. When I have finished, say "   \
    "two sentences, just as you would in the car."

/* For the screen: the routine's own words tell most about a voice. */
#define SL_SOUNDCHECK_SENTENCES                                                                    \
    "Interior mirror, left mirror, signalling left. Slowing down to ten, second gear, clutch up."

#define SL_SOUNDCHECK_SILENCE_S 2.0
#define SL_SOUNDCHECK_VOICE_MOST_S 20.0

enum sl_soundcheck_step {
    SL_SOUNDCHECK_SILENCE, /* be quiet */
    SL_SOUNDCHECK_PLAYS,   /* the cue is played */
    SL_SOUNDCHECK_VOICE,   /* say two sentences */
    SL_SOUNDCHECK_STEPS
};

/* "silence", "cue", "voice". */
const char *sl_soundcheck_step_word(enum sl_soundcheck_step step);

/* Nothing is owned. */
struct sl_soundcheck {
    struct sl_endpoint *endpoint; /* opened, not started; stopped afterwards */
    struct sl_listener *listener; /* new: it learns the voice */
    const struct sl_clip *cue;    /* NULL: nothing is played, and nothing said about the echo */
    /* A step begins. May be NULL. */
    void (*step)(void *user, enum sl_soundcheck_step step);
    /* Polled: true ends the check. May be NULL. */
    bool (*stop)(void *user);
    void *user; /* of both */
};

/* Initialise with {0}; release with sl_soundcheck_clear. */
struct sl_soundcheck_result {
    bool stopped; /* it was asked to; the rest means nothing then */
    struct sl_sound_figures figures;
    unsigned findings;
    struct sl_voice voice;      /* known when it was heard well enough */
    struct sl_heard_list heard; /* phrases of the routine, times from the start of the check */
};

/*
 * Runs a check, 10 to 35 s. SL_DEVICE when the device does not start, goes away or gives nothing
 * for five seconds; errors of the listener; SL_NO_MEMORY.
 */
enum sl_status sl_soundcheck_run(const struct sl_soundcheck *check,
                                 struct sl_soundcheck_result *result, struct sl_error *error);

/* NULL is fine. */
void sl_soundcheck_clear(struct sl_soundcheck_result *result);

#endif
