/*
 * File names and reading small text files.
 */
#ifndef SL_FILES_PATH_H
#define SL_FILES_PATH_H

#include "core/str.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* The file name without folder and ending: "a/t-left-open.yaml" gives "t-left-open". The caller
 * frees; NULL when memory runs out. */
char *sl_path_name(const char *path);

/* True when what a user gave is a path and not a name: a slash in it, ".yaml" at its end, or "-"
 * (standard input). */
bool sl_is_path(const char *name);

/* What a user gave, so that it holds from any folder: a path in full, a name as it is. The caller
 * frees; NULL when the path leads nowhere or memory runs out. */
char *sl_path_whole(const char *name);

/* True when a file or folder of that path exists. */
bool sl_path_exists(const char *path);

/* Reads a whole file ("-": standard input) of at most `most` bytes into *text. SL_NOT_FOUND, SL_IO,
 * SL_TOO_LARGE, SL_NO_MEMORY. */
enum sl_status sl_read_text_file(const char *path, size_t most, struct sl_str *text,
                                 struct sl_error *error);

#endif
