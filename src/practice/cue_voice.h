/*
 * The voice that speaks cues: clips of a cue pack, and a synthetic voice for all that the pack
 * lacks.
 */
#ifndef SL_PRACTICE_CUE_VOICE_H
#define SL_PRACTICE_CUE_VOICE_H

#include "core/status.h"
#include "sound/clip.h"

#include <stdbool.h>

#define SL_DEFAULT_PACK "scots"
#define SL_DEFAULT_VOICE "awb"

/* Between two sentences of one cue. */
#define SL_SENTENCE_PAUSE_S 0.25

struct sl_cue_voice_choice {
    const char *pack;  /* name or folder of a cue pack; NULL: SL_DEFAULT_PACK; "none": no pack */
    const char *voice; /* of sound/speak.h; NULL: SL_DEFAULT_VOICE */
};

struct sl_cue_voice;

/*
 * Reads the pack's manifest and checks the voice; clips are read when they are first asked for.
 * SL_DEFAULT_PACK that is not installed is no error: then all is spoken. Errors as
 * sl_load_cue_manifest; SL_NOT_FOUND for the voice.
 */
enum sl_status sl_cue_voice_open(const struct sl_cue_voice_choice *choice,
                                 struct sl_cue_voice **voice, struct sl_error *error);

/*
 * The sound of a text, sentence by sentence from the pack or else spoken; at the cues' loudness.
 * It belongs to the voice and stays valid until that is closed. The first call for a text takes a
 * file's reading or some 50 ms of speaking: have all clips made before a run starts. Not for two
 * threads at once.
 */
enum sl_status sl_cue_voice_clip(struct sl_cue_voice *voice, const char *text,
                                 const struct sl_clip **clip, struct sl_error *error);

/* As sl_cue_length of core/cueing.h, with the voice as `user`. */
double sl_cue_voice_length_s(void *voice, const char *text);

/* Speaks one text with a synthetic voice: trimmed, at the cues' loudness. The caller clears. */
enum sl_status sl_speak_clip(const char *voice, const char *text, struct sl_clip *clip,
                             struct sl_error *error);

/* How many sentences came from the pack and how many were spoken so far. */
size_t sl_cue_voice_from_pack(const struct sl_cue_voice *voice);
size_t sl_cue_voice_spoken(const struct sl_cue_voice *voice);

/* NULL is fine. */
void sl_cue_voice_close(struct sl_cue_voice *voice);

#endif
