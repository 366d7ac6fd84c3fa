/*
 * A recall drill as JSON: docs/formats.md, "JSON of a recall drill".
 */
#ifndef SL_FILES_RECALL_JSON_H
#define SL_FILES_RECALL_JSON_H

#include "core/recall.h"
#include "core/status.h"

/* One question answered, as one line without its end; the caller frees it. `heard` is what the
 * recogniser understood; NULL for a typed answer. */
enum sl_status sl_recall_to_json(const struct sl_recall_told *told, const char *heard, char **line,
                                 struct sl_error *error);

/* The session, as one line without its end; the caller frees it. */
enum sl_status sl_recall_sum_to_json(const struct sl_recall_sum *sum, char **line,
                                     struct sl_error *error);

#endif
