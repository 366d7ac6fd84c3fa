/*
 * How words would be heard: typed ones by the phrasebook's own matcher, a recording by the
 * recogniser.
 */
#ifndef SL_PRACTICE_PHRASES_TRY_H
#define SL_PRACTICE_PHRASES_TRY_H

#include "core/alike.h"
#include "core/heard.h"
#include "core/routine.h"
#include "core/words.h"
#include "speech/recogniser.h"

/* Initialise with {0}; release with sl_phrases_tried_clear. */
struct sl_phrases_tried {
    struct sl_heard_list heard; /* typed: no times (NAN), confidence 1 */
    struct sl_alikes nearest;   /* where no phrase was found: the nearest ones */
    struct sl_words unknown;    /* the words that were passed over for that */
};

/* Matches a text; where nothing matches, finds the nearest phrases of up to five phones' distance.
 * Errors as sl_phrasebook_match and sl_alike_nearest. */
enum sl_status sl_phrases_try_text(const struct sl_routine *routine,
                                   const struct sl_pronunciations *pronunciations, const char *text,
                                   struct sl_phrases_tried *tried, struct sl_error *error);

/* Listens to a sound file ("-": standard input). Errors of the sound file and the recogniser. */
enum sl_status sl_phrases_try_sound(struct sl_recogniser *recogniser, const char *path,
                                    struct sl_phrases_tried *tried, struct sl_error *error);

void sl_phrases_tried_clear(struct sl_phrases_tried *tried);

#endif
