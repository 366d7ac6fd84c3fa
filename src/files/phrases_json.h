/*
 * What `sayline phrases` finds, as JSON (jansson); the schema is in docs/formats.md.
 */
#ifndef SL_FILES_PHRASES_JSON_H
#define SL_FILES_PHRASES_JSON_H

#include "core/alike.h"
#include "core/heard.h"
#include "core/routine.h"
#include "core/unspoken.h"

/* One object on one line, without the line end, for a checked phrasebook; the caller frees. */
enum sl_status sl_phrases_to_json(const struct sl_routine *routine,
                                  const struct sl_unspoken_list *unspoken,
                                  const struct sl_alikes *alikes, char **json,
                                  struct sl_error *error);

/* What a text was heard as; nothing is owned. */
struct sl_tried {
    const char *text; /* or the sound file */
    const struct sl_heard_list *heard;
    const struct sl_alikes *nearest; /* of typed text where nothing matched; NULL: not looked for */
};

/* The same for a text or a sound that was tried. */
enum sl_status sl_tried_to_json(const struct sl_routine *routine, const struct sl_tried *tried,
                                char **json, struct sl_error *error);

#endif
