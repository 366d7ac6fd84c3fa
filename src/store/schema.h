/*
 * The schema as a list of steps. A step that was released is never changed: a change is a new step.
 */
#ifndef SL_STORE_SCHEMA_H
#define SL_STORE_SCHEMA_H

#include <stddef.h>

/* In the file's header, so that it is not taken for another program's: "sayl". */
#define SL_SCHEMA_APPLICATION 0x7361796c

/* Step i leads from version i to i + 1. */
extern const char *const sl_schema_steps[];
extern const int sl_schema_version; /* the newest: the number of steps */

#endif
