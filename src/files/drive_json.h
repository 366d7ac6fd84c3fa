/*
 * A drive as JSON (jansson); the schema is in docs/formats.md.
 */
#ifndef SL_FILES_DRIVE_JSON_H
#define SL_FILES_DRIVE_JSON_H

#include "core/drive.h"
#include "core/situation.h"

/* Between two points of the trace in JSON. */
#define SL_DRIVE_JSON_STEP_S 0.5

/* A drive and what it was made from; nothing is owned. */
struct sl_driven {
    const char *file;
    const struct sl_driving *driving;
    const struct sl_drive *drive;
    const struct sl_drive_change *change;
    const struct sl_situation *others; /* NULL: nobody else */
};

/* One object on one line, without the line end; the caller frees. SL_NO_MEMORY. */
enum sl_status sl_drive_to_json(const struct sl_driven *driven, char **json,
                                struct sl_error *error);

#endif
