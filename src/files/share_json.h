/*
 * Run files and marks as they are given to others.
 */
#ifndef SL_FILES_SHARE_JSON_H
#define SL_FILES_SHARE_JSON_H

#include "core/status.h"
#include "core/str.h"

/*
 * Reads a file of one JSON object and writes it to *text as one line, with only the name left of
 * every path that it holds ("file", "junction", "routine", "car", also under "run"): folders tell
 * of the learner's machine. A junction, routine or car is named as by sl_path_name. SL_NOT_FOUND,
 * SL_IO, SL_TOO_LARGE, SL_FORMAT, SL_NO_MEMORY.
 */
enum sl_status sl_json_without_paths(const char *path, struct sl_str *text, struct sl_error *error);

#endif
