/*
 * A recall drill in words, a line or a few at a time, good for a screen reader.
 */
#ifndef SL_REPORT_RECALL_TEXT_H
#define SL_REPORT_RECALL_TEXT_H

#include "core/recall.h"
#include "core/str.h"
#include "report/table.h"

/* "Question 3 of 10: T-junction ..." and what is asked for. */
void sl_report_question(struct sl_str *out, const struct sl_question *question, size_t number,
                        size_t count, int width);

/* What was right, what was not and why, how long it took, when it comes back. */
void sl_report_recall(struct sl_str *out, const struct sl_recall_told *told,
                      const struct sl_style *style);

/* The session: how many, and each part. */
void sl_report_recall_sum(struct sl_str *out, const struct sl_recall_sum *sum,
                          const struct sl_style *style);

/* A time in words for people: "15 minutes", "6 hours", "1 day". */
void sl_add_duration(struct sl_str *out, double time_s);

#endif
