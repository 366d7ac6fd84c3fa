/*
 * What a decoder is made with: the grammar of a routine's phrasebook, and where the acoustic
 * model is.
 */
#ifndef SL_SPEECH_SEARCHES_H
#define SL_SPEECH_SEARCHES_H

#include "core/phrasebook.h"
#include "core/status.h"
#include "speech/decoder.h"
#include "speech/grammar.h"
#include "speech/recogniser.h"

/* Initialise with {0}; release with sl_searches_clear. `setup` points into the struct and to the
 * settings, so neither may be moved while it is used. */
struct sl_searches {
    struct sl_grammar grammar;
    struct sl_decoder_setup setup;
};

/* Errors as sl_pronunciations_load and sl_grammar_make; *searches is to be released then too. */
enum sl_status sl_searches_make(const struct sl_phrasebook *book,
                                const struct sl_recogniser_paths *paths,
                                const struct sl_recogniser_settings *settings,
                                struct sl_searches *searches, struct sl_error *error);

/* NULL is fine. */
void sl_searches_clear(struct sl_searches *searches);

#endif
