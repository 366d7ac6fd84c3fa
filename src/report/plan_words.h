/*
 * What every report of a plan says in the same words.
 */
#ifndef SL_REPORT_PLAN_WORDS_H
#define SL_REPORT_PLAN_WORDS_H

#include "report/table.h"

/* What is right to say in a phase, in words. The caller frees; NULL when memory runs out. */
char *sl_plan_wanted(const struct sl_plan_view *view, size_t phase);

/* Takes a fact; the texts are the caller's. */
typedef void sl_plan_fact(void *user, const char *label, const char *text);

/* Slowing, rolling, last stop, engine, length, view: each as a sentence. */
void sl_plan_facts(const struct sl_plan_view *view, sl_plan_fact *add, void *user);

#endif
