/*
 * What was said wrong in rehearsals, drives and marked recordings is asked again in the recall
 * drill: when that was, by question.
 */
#ifndef SL_PRACTICE_RECALL_SLIPS_H
#define SL_PRACTICE_RECALL_SLIPS_H

#include "practice/recall_run.h"
#include "store/history.h"

/*
 * For each question of the stock, when a setting that it asks for was last said wrong at its
 * junction, in seconds since 1970; 0: never. Of a drive signal and decision are left out, as others
 * who came by chance may have made them wrong. `of` names the stock's routine as the history does.
 * The caller frees *slipped_s. Errors of the history, SL_NO_MEMORY.
 */
enum sl_status sl_recall_slips(struct sl_history *history, const struct sl_history_of *of,
                               const struct sl_recall_stock *stock, double **slipped_s,
                               struct sl_error *error);

#endif
