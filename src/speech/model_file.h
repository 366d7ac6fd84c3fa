/*
 * A file of the acoustic model in memory.
 */
#ifndef SL_SPEECH_MODEL_FILE_H
#define SL_SPEECH_MODEL_FILE_H

#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sl_model_file {
    char *path;
    unsigned char *data;
    size_t length, at; /* `at`: how far it was read */
};

/* Reads the file of this name in `folder` (NULL: Debian's en-us). *file is to be cleared whatever
 * comes back. SL_NOT_FOUND; SL_FORMAT when it is empty or larger than any model. */
enum sl_status sl_model_file_open(const char *folder, const char *name, struct sl_model_file *file,
                                  struct sl_error *error);

/* NULL is fine. */
void sl_model_file_clear(struct sl_model_file *file);

/* Takes a number of the byte order in which models are handed out, little-endian; false when there
 * is none left. */
bool sl_model_file_number(struct sl_model_file *file, uint32_t *number);

/* The next n bytes, moving behind them; NULL when there are fewer. They belong to the file. */
const unsigned char *sl_model_file_take(struct sl_model_file *file, size_t n);

/* SL_FORMAT: what is in the file does not go together. */
enum sl_status sl_model_file_broken(const struct sl_model_file *file, struct sl_error *error);

/* SL_UNSUPPORTED: it is of another make than Debian's en-us. */
enum sl_status sl_model_file_other(const struct sl_model_file *file, struct sl_error *error);

#endif
