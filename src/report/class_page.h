/*
 * The page of a class: what to teach next, and each learner's phases.
 */
#ifndef SL_REPORT_CLASS_PAGE_H
#define SL_REPORT_CLASS_PAGE_H

#include "core/class_grid.h"
#include "core/routine.h"

/* Nothing is owned. */
struct sl_class_page {
    const char *title; /* of the homework, say */
    const struct sl_routine *routine;
    const struct sl_class_grid *grid;
    const char *const *remarks; /* sentences, such as what was refused or differs */
    size_t n_remarks;
};

/* Makes the page; the caller frees. SL_NO_MEMORY. */
enum sl_status sl_class_page(const struct sl_class_page *class, char **html,
                             struct sl_error *error);

#endif
