/*
 * PocketSphinx opened and given a grammar; for decoder.c alone. It ends the process when a file of
 * its model is missing or empty, so the files are looked at before they are handed over; its log is
 * switched off, as it would write over the user's screen.
 */
#ifndef SL_SPEECH_DECODER_LIBRARY_H
#define SL_SPEECH_DECODER_LIBRARY_H

#include "core/status.h"
#include "speech/grammar.h"

#include <pocketsphinx.h>

#define SL_LIBRARY_SEARCH "phrases" /* the search with the grammar */

/* SL_NOT_FOUND when the model is not there (mend: the package), SL_FORMAT when it is not one. */
enum sl_status sl_library_open(const char *folder, double language_weight, ps_decoder_t **ps,
                               struct sl_error *error);

/* Makes the search with the grammar. SL_UNSUPPORTED. */
enum sl_status sl_library_set(ps_decoder_t *ps, const struct sl_grammar *grammar,
                              const struct sl_recogniser_settings *settings,
                              struct sl_error *error);

/* One unit of its scores, nats. */
double sl_library_unit(ps_decoder_t *ps);

#endif
