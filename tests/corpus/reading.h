/*
 * A speaker who reads the phrases of models/reading.txt, for getting to know the voice.
 */
#ifndef CORPUS_READING_H
#define CORPUS_READING_H

#include "voice.h"

/* Writes the sound to `path`: each phrase with a pause behind it, the microphone's hiss under all.
 */
enum sl_status corpus_reading_make(const struct corpus_speakers *speakers,
                                   const struct corpus_voice *voice, const char *path,
                                   struct sl_error *error);

#endif
