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
#include <stdint.h>

/* Entries of option tables that mean the same wherever somebody speaks to the program. */
#define SL_OPTION_MIC                                                                              \
    {                                                                                              \
        "mic", 'm', "FILE",                                                                        \
            "A recording in place of the microphone, in real time and without a speaker; its "     \
            "beginning, or what its run file says, is the end of the announcement."                \
    }
#define SL_OPTION_INPUT                                                                            \
    {                                                                                              \
        "input", 'i', "DEVICE", "The microphone, by number or a part of its name."                 \
    }
#define SL_OPTION_OUTPUT                                                                           \
    {                                                                                              \
        "output", 'o', "DEVICE", "The speaker, likewise."                                          \
    }
#define SL_OPTION_VOICE                                                                            \
    {                                                                                              \
        "voice", 'v', "NAME", "Who speaks the cues: awb (Scottish English), kal16, rms or slt."    \
    }
#define SL_OPTION_CUES                                                                             \
    {                                                                                              \
        "cues", 0, "PACK", "The cue pack, by name or as a folder; none for the voice."             \
    }
#define SL_OPTION_PLAIN                                                                            \
    {                                                                                              \
        "plain", 0, NULL, "One line an event instead of a full screen, as on a pipe."              \
    }

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
    bool shuffle;
    uint64_t seed; /* of the order when shuffled; of who else is there in the first drive */
    bool plain, quiet, json, tone;
    bool drives;      /* the words drive a car */
    const char *html; /* where the page of the drive goes, or NULL */
    struct sl_style style;
};

/* --mic takes the place of both devices. SL_INVALID where one is named as well. */
enum sl_status sl_rehearse_check_mic(const struct sl_rehearse_options *options,
                                     struct sl_error *error);

/* Runs the session to its end; all that is to be said was said. */
enum sl_exit sl_rehearse_session(const struct sl_rehearse_options *options);

#endif
