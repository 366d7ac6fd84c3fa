/*
 * What the sound check found and what is used from then on: devices, and how the learner's voice
 * sounds. Kept in soundcheck.json in the user's configuration folder (docs/formats.md, "The sound
 * check's file").
 */
#ifndef SL_FILES_SOUND_CHOICE_H
#define SL_FILES_SOUND_CHOICE_H

#include "core/status.h"
#include "core/voice.h"

#include <stdbool.h>

#define SL_SOUND_CHOICE_VERSION 1

/* A figure that may not have been measured. */
struct sl_measured {
    bool known;
    double value;
};

/* Initialise with {0}, which is: nothing chosen, nothing known. Release with
 * sl_sound_choice_clear. Texts are owned. */
struct sl_sound_choice {
    char *input, *output;  /* as for struct sl_device_choice; NULL: the system's default */
    struct sl_voice voice; /* start values for the listener */
    char *voice_input;     /* the microphone that `voice` was heard through, by its whole name */
    /* What was measured last, for people to compare; SI units, dBFS as in core/levels.h. */
    struct sl_measured noise_db, speech_db, leak_db, round_trip_s;
};

/* $XDG_CONFIG_HOME/sayline/soundcheck.json (~/.config where that is not set). The caller frees.
 * SL_NOT_FOUND where there is no home. */
enum sl_status sl_sound_choice_path(char **path, struct sl_error *error);

/*
 * Reads the file; one that does not exist is {0}. SL_FORMAT for what is no such file or has a value
 * out of range (`where` is file:line:column where it is no JSON), SL_UNSUPPORTED for one of a later
 * version, SL_IO. Replaces what *choice held, on success only.
 */
enum sl_status sl_sound_choice_load(const char *path, struct sl_sound_choice *choice,
                                    struct sl_error *error);

/* Reads the file at the usual path. Errors of both. */
enum sl_status sl_sound_choice_load_usual(struct sl_sound_choice *choice, struct sl_error *error);

/*
 * Writes the file, whole or not at all. Keys of the old file that are not known here stay. A file
 * that sl_sound_choice_load refuses is refused here too and left as it is.
 */
enum sl_status sl_sound_choice_save(const char *path, const struct sl_sound_choice *choice,
                                    struct sl_error *error);

/*
 * The voice if it was heard through the microphone of this name, else {0}: another microphone has
 * other start values. NULL for what is no microphone (a recording in its place): then the voice
 * holds only if it was heard without a microphone too.
 */
struct sl_voice sl_sound_choice_voice(const struct sl_sound_choice *choice, const char *input);

/* NULL is fine. */
void sl_sound_choice_clear(struct sl_sound_choice *choice);

#endif
