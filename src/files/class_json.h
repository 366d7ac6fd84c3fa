/*
 * What a class handed in, as JSON (docs/formats.md, "JSON of a class").
 */
#ifndef SL_FILES_CLASS_JSON_H
#define SL_FILES_CLASS_JSON_H

#include "core/status.h"
#include "core/submission.h"

/* One object on one line; the caller frees. */
enum sl_status sl_class_to_json(const struct sl_class *group, char **json, struct sl_error *error);

#endif
