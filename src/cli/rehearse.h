/*
 * A session of rehearsals: runs one after the other, marked, recorded, with feedback.
 */
#ifndef SL_CLI_REHEARSE_H
#define SL_CLI_REHEARSE_H

#include "cli/interrupt.h"
#include "cli/screen.h"
#include "core/str.h"
#include "speech/recogniser.h"

#include <stdbool.h>
#include <stddef.h>

/* What a session does; nothing is owned. */
struct sl_rehearse_options {
    const char *const *junctions; /* as given */
    size_t n_junctions;
    const char *routine, *car; /* NULL: the defaults */
    const char *mic;           /* a recording in place of the microphone, or NULL */
    const char *input, *output;
    const char *voice, *pack;
    const char *learner;
    bool no_history;
    const char *folder; /* of the recordings, each with its mark beside it; NULL: the user's, and
                           no marks */
    enum sl_prompting prompting; /* SL_PROMPTING_COUNT: fading */
    size_t repeat;
    bool shuffle, seeded;
    unsigned long seed;
    bool plain, quiet, json, tone;
    const char *no_own_voice; /* NULL: use what is known of the voice */
    struct sl_style style;
};

/* Runs the session to its end; all that is to be said was said. */
enum sl_exit sl_rehearse_session(const struct sl_rehearse_options *options);

#endif
