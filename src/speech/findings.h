/*
 * What is found in a stretch of sound: its phrases, and how sure each is. The sound is searched
 * twice where it pays: what was sure at first tells how the speaker sounds, and with the acoustic
 * model fitted to that voice what was doubtful is searched again.
 */
#ifndef SL_SPEECH_FINDINGS_H
#define SL_SPEECH_FINDINGS_H

#include "core/status.h"
#include "speech/activity.h"
#include "speech/confidence.h"
#include "speech/decoder.h"
#include "speech/phrases.h"
#include "speech/recogniser.h"

/* How sure a phrase is. */
struct sl_finding {
    struct sl_evidence evidence;
    double confidence;
};

/* Initialise with {0}; release with sl_findings_clear. */
struct sl_findings {
    struct sl_activity activity;
    bool noisy;   /* noise is heard behind a voice, so that the acoustic model was to be fitted */
    bool adapted; /* the acoustic model was fitted to who speaks */
    struct sl_segments words;
    struct sl_spans spans;
    struct sl_finding *each; /* of each span */
};

/* What it is found with; nothing is owned. */
struct sl_finder {
    struct sl_decoder *decoder;
    const struct sl_paths *paths;
    const struct sl_recogniser_settings *settings;
};

/* Searches 16 kHz sound. Fills empty findings, which are to be released whatever comes back. Errors
 * as sl_decoder_load and sl_decoder_run. */
enum sl_status sl_findings_make(const struct sl_finder *finder, const int16_t *samples,
                                size_t n_samples, struct sl_findings *findings,
                                struct sl_error *error);

/* NULL is fine. */
void sl_findings_clear(struct sl_findings *findings);

/* A stretch of speech. */
struct sl_burst {
    size_t first, end; /* frames */
};

/* The next stretch, from frame `from` and ending before `to`, of speech that may have been a phrase
 * if it is none of one; *from moves behind it. False when there is none. */
bool sl_findings_burst(const struct sl_findings *findings, size_t *from, size_t to,
                       struct sl_burst *burst);

#endif
