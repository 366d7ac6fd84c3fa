/*
 * What every report of a class says in the same words. The caller frees; NULL when memory runs out.
 */
#ifndef SL_REPORT_CLASS_WORDS_H
#define SL_REPORT_CLASS_WORDS_H

#include "core/class_grid.h"
#include "core/routine.h"
#include "core/submission.h"

/* What to teach next, and why. */
char *sl_class_teach(const struct sl_routine *routine, const struct sl_class_grid *grid);

/* Whom: the learners who had that wrong. "" where nobody had anything. */
char *sl_class_whom(const struct sl_class_grid *grid);

/* What is to be said of a run: that the mark handed in is another, or why it cannot be marked or
 * does not count; and what came of a drive. "": nothing. */
char *sl_class_remark(const struct sl_submission_run *run);

#endif
