/*
 * The recordings that are shipped in audio/demo.
 */
#ifndef CORPUS_DEMO_H
#define CORPUS_DEMO_H

#include "core/status.h"

/* Makes all of them in `folder`, which exists. */
enum sl_status corpus_demo_make(const char *folder, struct sl_error *error);

/* Their names without ending, NULL-terminated; the caller frees the array only. */
const char **corpus_demo_names(void);

#endif
