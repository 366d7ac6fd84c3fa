/*
 * Making and checking cue packs.
 */
#ifndef SL_PRACTICE_CUE_PACK_H
#define SL_PRACTICE_CUE_PACK_H

#include "core/levels.h"
#include "core/status.h"
#include "core/str.h"
#include "files/cue_manifest.h"
#include "practice/cue_texts.h"
#include "sound/clip.h"

#include <stdbool.h>
#include <stddef.h>

/* What can be wrong with a cue; bits. X(code, bit, word, text for people with the mend) */
#define SL_CUE_FLAW_MAP(X)                                                                         \
    X(SL_CUE_MISSING, 1, "missing", "not in the pack: record it")                                  \
    X(SL_CUE_NO_FILE, 2, "no-file", "its file cannot be read: record it again")                    \
    X(SL_CUE_CHANGED, 4, "changed", "its file is not the one that the manifest tells of")          \
    X(SL_CUE_TOO_LOUD, 8, "too-loud", "louder than the other cues")                                \
    X(SL_CUE_TOO_QUIET, 16, "too-quiet", "quieter than the other cues")                            \
    X(SL_CUE_CLIPPED, 32, "clipped", "the peaks are cut off: turn the microphone down")            \
    X(SL_CUE_TOO_LONG, 64, "too-long", "too long for its words: say it without a pause")           \
    X(SL_CUE_SILENT, 128, "silent", "no speech in it: check that the right microphone is on")      \
    X(SL_CUE_NOISY, 256, "too-noisy", "much noise behind the voice: find a quieter room")

enum sl_cue_flaw {
#define SL_CUE_FLAW_ENUM(code, bit, word, text) code = (bit),
    SL_CUE_FLAW_MAP(SL_CUE_FLAW_ENUM)
#undef SL_CUE_FLAW_ENUM
};

/* Adds "too-loud (louder than the other cues)" for every flaw to a text, separated by "; ". */
void sl_cue_flaws_add(struct sl_str *out, unsigned flaws);

/* The longest that a text may take: half a second and 0.12 s a character, about half the usual
 * pace of speech (4 syllables of three letters a second). */
double sl_cue_longest_s(const char *text);

/* The flaws of a finished clip: loudness, true peak, length, silence. */
unsigned sl_cue_clip_flaws(const struct sl_clip *clip, const char *text,
                           const struct sl_loudness *loudness);

/* The flaws of a take as it comes from the microphone: clipped, silent, too quiet, noisy. */
unsigned sl_cue_take_flaws(const struct sl_clip *take);

/* One cue of a pack that was checked. */
struct sl_cue_finding {
    const char *text;            /* belongs to the texts or the manifest */
    unsigned flaws;              /* 0: all right */
    double length_s, lufs, dbtp; /* as measured; 0 when there is no sound */
};

/* Initialise with {0}; release with sl_cue_findings_clear. */
struct sl_cue_findings {
    struct sl_cue_finding *items; /* the texts in their order, then what the pack has besides */
    size_t count;
    size_t room;
    size_t n_flawed;
};

/* Measures every file of the pack and looks for every text. Errors: SL_NO_MEMORY. */
enum sl_status sl_cue_pack_check(const struct sl_cue_manifest *pack,
                                 const struct sl_cue_texts *texts, struct sl_cue_findings *findings,
                                 struct sl_error *error);
void sl_cue_findings_clear(struct sl_cue_findings *findings);

/*
 * Opens the pack in a folder to be written to: makes the folder where there is none, reads the
 * manifest where there is one. SL_IO, or what sl_load_cue_manifest says.
 */
enum sl_status sl_cue_pack_begin(const char *folder, struct sl_cue_manifest *pack,
                                 struct sl_error *error);

/* Puts a finished clip into the pack: its file and its entry, and writes the manifest. */
enum sl_status sl_cue_pack_put(struct sl_cue_manifest *pack, const char *text,
                               const struct sl_clip *clip, struct sl_error *error);

/* Speaks every text into the pack with a synthetic voice. */
enum sl_status sl_cue_pack_render(struct sl_cue_manifest *pack, const struct sl_cue_texts *texts,
                                  const char *voice, struct sl_error *error);

#endif
