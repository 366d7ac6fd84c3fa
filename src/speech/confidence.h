/*
 * How sure a phrase is: its acoustic score is a likelihood against the best sound of each frame,
 * whatever that is. What was really said fits the phrase nearly as well; what was not fits much
 * worse.
 */
#ifndef SL_SPEECH_CONFIDENCE_H
#define SL_SPEECH_CONFIDENCE_H

#include "core/status.h"
#include "speech/activity.h"
#include "speech/decoder.h"
#include "speech/phrases.h"

#include <stdbool.h>
#include <stddef.h>

/* What the confidence is made from. */
struct sl_evidence {
    double score;       /* of all words against the best sounds, nats a frame; about -2 to -9 */
    double worst_score; /* the same of its worst word */
    double word_s;      /* seconds in words */
    double pause_s;     /* the longest pause between two of its words */
    double stray_s;     /* seconds of other speech close by, without a pause between */
    double snr_db;      /* of the sound around it */
    bool fitted;        /* the acoustic model was fitted to the noise of the sound */
    double twin_margin; /* by how much it fits better than a phrase that differs in one word and
                           names other settings (twins.h), nats; INFINITY: there is none, or it was
                           not looked for */
    size_t n_words;
    bool adapted; /* the acoustic model was fitted to the speaker */
};

/* What speaks for and against a phrase on the best path `segments`; `twin_margin` is left INFINITY.
 * `activity`: of the sound whose noise the acoustic model was fitted to; other speech counts only
 * where that is loud, as noise between words seems speech, too. NULL: it was fitted to none, and
 * all other speech counts. */
struct sl_evidence sl_evidence_of(const struct sl_span *span, const struct sl_segments *segments,
                                  const struct sl_activity *activity, double snr_db);

/*
 * Chance that the phrase was said, 0 to 1: a logistic function of
 *     bias + score * s + worst * w + length * ln(word_s / 0.5 s) + stray * o + noise * n
 * with s and w the two scores, o the seconds of other speech close by and n the decibels by which
 * the sound is noisier than 30 dB: noise lowers every score and is itself taken for stray phones.
 * A model that was fitted to the noise lowers none: then n has no weight, and `stray` fades to
 * nothing from 24 dB to 9 dB, where the noise itself is loud now and then. The bias is higher once
 * the model was fitted to the speaker; less so when it was fitted to noise as well, as what was not
 * said fits such a model better, too.
 * At most 1 / (1 + exp(-(twin margin - even) / scale)) as well: a phrase is no surer than that it
 * was not its twin. The weights are in the settings, fitted on the tuning voices (docs/method.md).
 */
double sl_confidence(const struct sl_evidence *evidence,
                     const struct sl_recogniser_settings *settings);

#endif
