/*
 * Writing small text files so that they are there whole or not at all.
 */
#ifndef SL_FILES_ATOMIC_H
#define SL_FILES_ATOMIC_H

#include "core/status.h"

#include <stddef.h>

/*
 * Writes `length` bytes to a temporary file beside `path`, syncs it and renames it onto `path`,
 * then syncs the folder: after a crash or a power cut there is the old file or the new one. Missing
 * folders are made (only for the user, as the XDG rules want). A link at `path` is replaced, not
 * followed. SL_IO; then the old file stands as it was, and nothing else is left behind.
 */
enum sl_status sl_write_text_file(const char *path, const char *text, size_t length,
                                  struct sl_error *error);

/* Syncs the folder that a file is in, so that its renaming outlives a power cut; as far as the file
 * system can. */
void sl_sync_folder_of(const char *path);

/* Makes the folders above a file that are missing, only for the user. One that cannot be made shows
 * when the file is. SL_NO_MEMORY. */
enum sl_status sl_make_folders(const char *path, struct sl_error *error);

#endif
