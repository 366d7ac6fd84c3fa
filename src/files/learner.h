/*
 * Several learners on one machine: each has a name, and a folder for what is not in the history.
 */
#ifndef SL_FILES_LEARNER_H
#define SL_FILES_LEARNER_H

#include "core/status.h"

#include <stdbool.h>

/* Who practises when nobody is named: most machines have one learner. Never the one who practised
 * last, so that no run lands with somebody else by surprise. */
#define SL_DEFAULT_LEARNER "me"
#define SL_LEARNER_MOST_BYTES 64

/* A name is of 1 to SL_LEARNER_MOST_BYTES bytes of UTF-8, begins with a letter or a digit and has
 * only these, blanks and - _ . ' in it, as it names a folder and stands in tables. SL_INVALID. */
enum sl_status sl_learner_check(const char *name, struct sl_error *error);

/* The folder with the learner's recordings/, prompting.json and recall.json: that of
 * the user's own files for SL_DEFAULT_LEARNER, else learners/NAME below it. It may not exist.
 * SL_NOT_FOUND where there is no home, SL_INVALID for a wrong name. The caller frees. */
enum sl_status sl_learner_folder(const char *name, char **folder, struct sl_error *error);

/* Where a learner's file of that name is, there or not: in *path, to be freed by the caller, who
 * also keeps it unchanged on an error. Errors: those of sl_learner_folder, SL_NO_MEMORY. */
enum sl_status sl_learner_file(const char *learner, const char *name, char **path,
                               struct sl_error *error);

#endif
