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

/* Settings found by measurement on the tuning voices (docs/method.md). */
struct sl_recogniser_settings {
    double language_weight;
    double loop_log10;    /* per phone of the loop that soaks up other speech */
    double entry_log10;   /* per phrase begun */
    double unclear_below; /* confidence under which a phrase is unclear */
    /* the helper who measures may add more, each with its meaning */
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
 * Feeds the next samples of the sound; any number at a time. Long sounds are cut inside where it is
 * quiet (or after a minute at the latest), so memory stays bounded. Phrases that are settled are
 * added to `heard`, their times in seconds from the first sample since sl_recogniser_new or
 * sl_recogniser_finish.
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
