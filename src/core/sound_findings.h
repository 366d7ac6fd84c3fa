/*
 * What a sound check measured, and what is to be said about it.
 *
 * Levels are in dBFS as in core/levels.h. The limits are common practice, no source, but for those
 * on the echo, which are what the canceller and the recogniser were measured with (docs/method.md).
 */
#ifndef SL_CORE_SOUND_FINDINGS_H
#define SL_CORE_SOUND_FINDINGS_H

#include "core/levels.h"

#include <stdbool.h>
#include <stddef.h>

/* Fewer seconds of a voice do not tell how it sounds. */
#define SL_SOUND_SPEECH_LEAST_S 3.0

struct sl_sound_figures {
    /* While nobody speaks. */
    bool empty;         /* the microphone gave nothing but zeros, all the time */
    double noise_db;    /* mean level */
    double noise_swing; /* dB from its quiet to its loud moments */
    /* While the learner speaks; levels of both stretches together. */
    struct sl_level_report levels;
    double speech_s;  /* how long a voice was heard */
    size_t n_phrases; /* of the routine, heard clearly */
    /* While the cue sounds. */
    bool played;         /* a cue was played at all */
    bool echo_heard;     /* it came back into the microphone */
    bool disturbed;      /* the microphone heard something, but not the cue: someone spoke */
    double leak_db;      /* the cue in the microphone against what was played */
    double round_trip_s; /* from playing to hearing it, by correlation; 0 when it was not heard */
    bool stamps_known;
    double stamps_s; /* the same as the sound system says */
    bool cancelled;  /* the canceller takes the echo out */
    /* All the time. */
    double lost_s; /* of sound, on either side */
    unsigned xruns;
};

/* X(code, bit, word, text for people with the mend) */
#define SL_SOUND_FINDING_MAP(X)                                                                    \
    X(SL_SOUND_EMPTY, 1u << 0, "empty",                                                            \
      "the microphone gives nothing at all: it is muted, or the wrong one; `sayline soundcheck "   \
      "--list` shows the others")                                                                  \
    X(SL_SOUND_SILENT, 1u << 1, "silent",                                                          \
      "no voice was heard: check that the right microphone is on, then speak as you would in the " \
      "car")                                                                                       \
    X(SL_SOUND_QUIET, 1u << 2, "too-quiet",                                                        \
      "your voice is too quiet: turn the microphone up or come closer")                            \
    X(SL_SOUND_CLIPPED, 1u << 3, "clipped",                                                        \
      "your voice is too loud, its peaks are cut off: turn the microphone down or move back")      \
    X(SL_SOUND_NOISY, 1u << 4, "too-noisy",                                                        \
      "there is much noise behind your voice: find a quieter room or come closer to the "          \
      "microphone")                                                                                \
    X(SL_SOUND_RESTLESS, 1u << 5, "restless",                                                      \
      "it was not quiet while the noise was measured: run the check again and keep still at the "  \
      "beginning")                                                                                 \
    X(SL_SOUND_SHORT, 1u << 6, "too-short",                                                        \
      "too little of your voice was heard to learn it: run the check again and say both "          \
      "sentences")                                                                                 \
    X(SL_SOUND_DISTURBED, 1u << 7, "disturbed",                                                    \
      "something else was louder than the cue while it played: run the check again and be quiet "  \
      "until it is over")                                                                          \
    X(SL_SOUND_NO_ECHO, 1u << 8, "no-echo",                                                        \
      "the cue was not heard by the microphone: right for a headset; with a speaker, turn it up "  \
      "until you hear the cue well")                                                               \
    X(SL_SOUND_LOUD_ECHO, 1u << 9, "loud-echo",                                                    \
      "the microphone hears the speaker loudly: turn the speaker down, or use headphones")         \
    X(SL_SOUND_STAYING_ECHO, 1u << 10, "staying-echo",                                             \
      "the cues cannot be taken out of the microphone's sound: use headphones, or you are not "    \
      "heard while a cue sounds")                                                                  \
    X(SL_SOUND_LATE, 1u << 11, "late",                                                             \
      "sound comes back after more than half a second: use a microphone and a speaker with a "     \
      "cable")                                                                                     \
    X(SL_SOUND_STAMPS, 1u << 12, "wrong-stamps",                                                   \
      "the sound system is wrong about its own delay: times may be off by as much when the cues "  \
      "cannot be heard by the microphone")                                                         \
    X(SL_SOUND_LOST, 1u << 13, "lost",                                                             \
      "sound was lost on the way: close other programs and run the check again")

enum sl_sound_finding {
#define SL_SOUND_FINDING_ENUM(code, bit, word, text) code = (bit),
    SL_SOUND_FINDING_MAP(SL_SOUND_FINDING_ENUM)
#undef SL_SOUND_FINDING_ENUM
};

/* enum sl_sound_finding bits. Where no voice was heard, nothing is said about it. */
unsigned sl_sound_findings(const struct sl_sound_figures *figures);

/* Findings that stop nobody from practising and ask for nothing. */
#define SL_SOUND_HARMLESS ((unsigned)SL_SOUND_NO_ECHO | (unsigned)SL_SOUND_STAMPS)

/* True when the voice was heard well enough for its mean to be kept. */
bool sl_sound_voice_is_good(unsigned findings);

#endif
