/*
 * How sure a phrase is: its acoustic score is compared with that of the phone loop over the same
 * frames. What was really said fits the phrase nearly as well as the loop, which may choose any
 * phones; what was not fits much worse.
 */
#ifndef SL_SPEECH_CONFIDENCE_H
#define SL_SPEECH_CONFIDENCE_H

#include "core/status.h"
#include "speech/activity.h"
#include "speech/decoder.h"
#include "speech/phrases.h"

#include <stdbool.h>
#include <stddef.h>

/* Scores of the phone loop, summed over frames: upto[f] is the score of frames 0 to f - 1, in nats;
 * n_frames + 1 values. Initialise with {0}. */
struct sl_loop_scores {
    double *upto;
    size_t n_frames;
};

/* From the segments of the loop's search; a segment's score is spread evenly over its frames.
 * Replaces *scores. */
enum sl_status sl_loop_scores_fill(const struct sl_segments *loop, struct sl_loop_scores *scores,
                                   struct sl_error *error);

/* NULL is fine. */
void sl_loop_scores_clear(struct sl_loop_scores *scores);

/* What the confidence is made from. */
struct sl_evidence {
    double gain;        /* (phrase - loop) / frames over all words, nats a frame; about 0 to -5 */
    double worst_gain;  /* the same of its worst word */
    double word_s;      /* seconds in words */
    double pause_s;     /* the longest pause between two of its words */
    double stray_s;     /* seconds of other speech close by, without a pause between */
    double snr_db;      /* of the sound around it */
    bool fitted;        /* the acoustic model was fitted to the noise of the sound */
    double twin_margin; /* by how much it fits better than a phrase that differs in one word and
                           names other settings (twins.h), nats; INFINITY: there is none, or it was
                           not looked for */
    size_t n_words;
};

/* What speaks for and against a phrase on the best path `segments`; `twin_margin` is left INFINITY.
 * `activity`: of the sound whose noise the acoustic model was fitted to; other speech counts only
 * where that is loud, as noise between words seems speech, too. NULL: it was fitted to none, and
 * all other speech counts. */
struct sl_evidence sl_evidence_of(const struct sl_span *span, const struct sl_segments *segments,
                                  const struct sl_loop_scores *loop,
                                  const struct sl_activity *activity, double snr_db);

/*
 * Chance that the phrase was said, 0 to 1: a logistic function of
 *     bias + gain * g + worst * w + length * ln(word_s / 0.5 s) + stray * s + noise * n
 * with g and w the two gains, s the seconds of other speech close by and n the decibels by which
 * the sound is noisier than 30 dB: noise lowers every score and is itself taken for stray phones.
 * A model that was fitted to the noise lowers none: then the bias is another, n has no weight, and
 * `stray` fades to nothing from 24 dB to 9 dB, where the noise itself is loud now and then.
 * At most 1 / (1 + exp(-(twin margin - even) / scale)) as well: a phrase is no surer than that it
 * was not its twin. The weights are in the settings, fitted on the tuning voices (docs/method.md).
 */
double sl_confidence(const struct sl_evidence *evidence,
                     const struct sl_recogniser_settings *settings);

#endif
