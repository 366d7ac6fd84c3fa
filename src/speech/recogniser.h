/*
 * The recogniser: 16 kHz mono samples in, heard phrases out. It is told the phrasebook of the
 * routine and nothing about the junction, so that every word is as likely as its wrong twin.
 *
 * One recogniser belongs to one thread at a time; several may live in one process.
 */
#ifndef SL_SPEECH_RECOGNISER_H
#define SL_SPEECH_RECOGNISER_H

#include "core/heard.h"
#include "core/routine.h"
#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

#define SL_SPEECH_RATE_HZ 16000

/* Where the recogniser's data are; paths are copied. */
struct sl_recogniser_paths {
    const char *acoustic_model; /* folder of the PocketSphinx model; NULL: Debian's en-us */
    const char *pronunciations; /* models/pronunciations.dict */
};

struct sl_evidence; /* confidence.h */

/* What is told about a phrase while settings are being measured; valid during the call. */
typedef void sl_recogniser_trace(void *user, const struct sl_heard *heard,
                                 const struct sl_evidence *evidence);

/* Settings found by measurement on the tuning voices (docs/method.md). Weights of the grammar are
 * logarithms to the base 10 before the language weight, 0 or below. */
struct sl_recogniser_settings {
    double language_weight; /* of the grammar against the sound */
    double loop_log10;      /* per phone of the loop that soaks up other speech */
    double entry_log10;     /* per phrase begun */
    double silence_log10;   /* per silence, between any two words */
    double margin_s;     /* only speech and this much around it is searched; below 0: everything */
    double fit_below_db; /* noisier sound has the acoustic model fitted to it (decoder.h) */
    /* The confidence of a phrase, see confidence.h. */
    double confidence_bias, confidence_score, confidence_worst, confidence_length, confidence_noise,
        confidence_stray, adapted_bias, adapted_noisy_bias, twin_even_nats, twin_scale_nats;
    double longest_pause_s; /* a pause inside a phrase longer than this makes it unclear */
    double unclear_below;   /* confidence under which a phrase is unclear */
    double drop_below;      /* confidence under which a phrase is not reported at all */
    /* Phrases surer than the first tell how the speaker sounds, and where these are few, phrases
     * surer than the second; those less sure than the third, and speech of no phrase, are then
     * searched again (findings.h). */
    double sure_from, likely_from, doubt_below;
    /* For measuring: called for every phrase of the best path, dropped ones too. May be NULL. */
    sl_recogniser_trace *trace;
    void *trace_user;
};

struct sl_recogniser_settings sl_recogniser_defaults(void);

struct sl_recogniser;

/*
 * Makes a recogniser for the routine's phrasebook. `settings` NULL: defaults. SL_NOT_FOUND when the
 * model or the pronunciations are missing (mend: the package), SL_INVALID when a word of the
 * phrasebook has no pronunciation (the word, and the line to add). The routine may be released
 * afterwards.
 */
enum sl_status sl_recogniser_new(const struct sl_routine *routine,
                                 const struct sl_recogniser_paths *paths,
                                 const struct sl_recogniser_settings *settings,
                                 struct sl_recogniser **recogniser, struct sl_error *error);

/*
 * Feeds the next samples of the sound; any number at a time, with the same result. Up to a minute
 * is kept and recognised as a whole; longer sounds are cut at the quietest place of the last
 * quarter of the minute, so memory stays bounded. Phrases that are settled are added to `heard`,
 * their times in seconds from the first sample since sl_recogniser_new or sl_recogniser_finish.
 */
enum sl_status sl_recogniser_feed(struct sl_recogniser *recogniser, const int16_t *samples,
                                  size_t n_samples, struct sl_heard_list *heard,
                                  struct sl_error *error);

/* Ends the sound: the rest is recognised and added. The recogniser is ready for another sound. */
enum sl_status sl_recogniser_finish(struct sl_recogniser *recogniser, struct sl_heard_list *heard,
                                    struct sl_error *error);

/* NULL is fine. */
void sl_recogniser_free(struct sl_recogniser *recogniser);

#endif
