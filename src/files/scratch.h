/*
 * A folder for files on their way, below $TMPDIR (/tmp where that is not set).
 */
#ifndef SL_FILES_SCRATCH_H
#define SL_FILES_SCRATCH_H

#include "core/status.h"

/* Initialise with {0}. */
struct sl_scratch {
    char *path; /* whole */
    int lock;   /* held as long as the folder is in use, so that others see that it is */
};

/*
 * Makes the folder PREFIX-XXXXXX for the user only, and removes those of that prefix, the user's
 * own, that programs left behind which were killed. SL_IO, SL_NO_MEMORY.
 */
enum sl_status sl_scratch_open(const char *prefix, struct sl_scratch *scratch,
                               struct sl_error *error);

/* Removes the folder and all that is in it; ready for {0}. */
void sl_scratch_close(struct sl_scratch *scratch);

/* Removes a folder and all that is in it; links are not followed. */
void sl_remove_folder(const char *path);

#endif
