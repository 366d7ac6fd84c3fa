/*
 * The definition of an acoustic model, read from its file "mdef": its phones, and of which of them
 * each senone (core/senones.h) is. Only models as Debian's en-us is: three states a phone, all
 * senones of a phone its own.
 */
#ifndef SL_SPEECH_MODEL_DEFINITION_H
#define SL_SPEECH_MODEL_DEFINITION_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

#define SL_PHONE_NAME_SIZE 8

/* Initialise with {0}; release with sl_model_definition_clear. */
struct sl_model_definition {
    size_t n_phones, n_senones;
    char (*phones)[SL_PHONE_NAME_SIZE]; /* by phone: "AA", ..., "SIL" */
    uint16_t *of_senone;                /* by senone: its phone */
};

/* Reads the definition in `folder` (NULL: Debian's en-us), which is to have so many phones.
 * *definition is to be cleared whatever comes back. SL_NOT_FOUND, SL_FORMAT for a broken file,
 * SL_UNSUPPORTED for a model of another make. */
enum sl_status sl_model_definition_load(const char *folder, size_t n_phones,
                                        struct sl_model_definition *definition,
                                        struct sl_error *error);

/* NULL is fine. */
void sl_model_definition_clear(struct sl_model_definition *definition);

#endif
