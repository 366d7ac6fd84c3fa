/*
 * A learner's progress as JSON; docs/formats.md, "JSON of progress".
 */
#ifndef SL_FILES_PROGRESS_JSON_H
#define SL_FILES_PROGRESS_JSON_H

#include "core/progress.h"
#include "core/status.h"

/* One object on one line, without the line end; the caller frees. */
enum sl_status sl_progress_to_json(const struct sl_progress_view *of, char **json,
                                   struct sl_error *error);

#endif
