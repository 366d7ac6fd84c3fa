/*
 * The scores of the rows that are loaded, each computed once: several searches look at the same
 * ones. A search reads them as a stream in the library's format, for ps_decode_senscr.
 */
#ifndef SL_SPEECH_SCORES_H
#define SL_SPEECH_SCORES_H

#include "speech/decoder_parts.h"
#include "speech/fitted_model.h"

#include <stdio.h>

/* Kept at most; those of later rows are computed whenever they are read. A row's take 10 kB. */
#define SL_SCORES_ROWS ((size_t)3000)

struct sl_scores;

/* Of this model, which must stay. SL_NO_MEMORY. */
enum sl_status sl_scores_new(const struct sl_fitted_model *model, struct sl_scores **scores,
                             struct sl_error *error);

/* NULL is fine. */
void sl_scores_free(struct sl_scores *scores);

/* To be called when other rows are loaded, and when the model has changed. */
void sl_scores_forget(struct sl_scores *scores);

/* Opens a stream of the scores of rows first to end - 1; to be closed with fclose before the next
 * is opened. NULL: out of memory. */
FILE *sl_scores_open(struct sl_scores *scores, const struct sl_decoder_rows *rows, size_t first,
                     size_t end);

#endif
