/*
 * Pronunciations of words: a small text file, `word PHONE PHONE ...` a line, in the 39 phones of
 * the CMU pronouncing dictionary without stress. A word on several lines has several variants.
 * Empty lines and what follows a # are skipped.
 */
#ifndef SL_SPEECH_PRONUNCIATION_H
#define SL_SPEECH_PRONUNCIATION_H

#include "core/phones.h"
#include "core/status.h"

#include <stddef.h>

/*
 * Reads a file. SL_NOT_FOUND, SL_IO, SL_TOO_LARGE (over 4 MB), SL_FORMAT (a zero byte in it), and
 * SL_INVALID with "file:line" for a word that is not lower-case letters, apostrophes and hyphens, a
 * word without phones, an unknown phone, a variant given twice. Clears what was there.
 */
enum sl_status sl_pronunciations_load(const char *path, struct sl_pronunciations *list,
                                      struct sl_error *error);

/* The same from text; `origin` is named in errors. */
enum sl_status sl_pronunciations_parse(const char *text, const char *origin,
                                       struct sl_pronunciations *list, struct sl_error *error);

/* NULL is fine. */
void sl_pronunciations_clear(struct sl_pronunciations *list);

#endif
