/*
 * What is read aloud so that the recogniser gets to know a voice, as a phrasebook in which every
 * word is a single phone ("k" is K): searching for it tells when each phone of each phrase was
 * said.
 */
#ifndef SL_SPEECH_VOICE_READING_H
#define SL_SPEECH_VOICE_READING_H

#include "core/phrasebook.h"
#include "core/status.h"
#include "speech/pronunciation.h"

#include <stddef.h>

/*
 * Makes the book of phrases, which are plain words with single spaces between; every pronunciation
 * of a word is a way through it. SL_INVALID for a word that has none. Replaces *book.
 */
enum sl_status sl_voice_reading_make(const char *const *phrases, size_t n_phrases,
                                     const struct sl_pronunciations *pronunciations,
                                     struct sl_phrasebook *book, struct sl_error *error);

/* Makes a book whose phrase i is the phone sl_phones[i] alone. Replaces *book. */
enum sl_status sl_voice_reading_phones(struct sl_phrasebook *book, struct sl_error *error);

/* The pronunciations of these books' words. Replaces *pronunciations. */
enum sl_status sl_voice_reading_spell(struct sl_pronunciations *pronunciations,
                                      struct sl_error *error);

/* How many phones a phrase has when each word is said as its first pronunciation has it. */
size_t sl_voice_reading_length(const char *phrase, const struct sl_pronunciations *pronunciations);

#endif
