/*
 * The phrases that are read aloud so that a voice gets known: models/reading.txt, one a line.
 */
#ifndef SL_FILES_READING_H
#define SL_FILES_READING_H

#include "core/status.h"

#include <stddef.h>

#define SL_READING_MOST 40 /* phrases */

/* Initialise with {0}; release with sl_reading_clear. */
struct sl_reading {
    char *phrases[SL_READING_MOST];
    size_t n;
};

/*
 * Reads the file, which is looked for as models are (files/models.h). Empty lines and those that
 * begin with # are skipped. SL_NOT_FOUND, SL_IO, SL_TOO_LARGE; SL_INVALID with "file:line" for what
 * is not lower-case words with single spaces between, and for a file without phrases.
 */
enum sl_status sl_reading_load(struct sl_reading *reading, struct sl_error *error);

/* The same from text; `origin` is named in errors. */
enum sl_status sl_reading_parse(const char *text, const char *origin, struct sl_reading *reading,
                                struct sl_error *error);

/* NULL is fine. */
void sl_reading_clear(struct sl_reading *reading);

#endif
