/*
 * What decoder.c, the other decoder_*.c share, library and all; for no other file.
 */
#ifndef SL_SPEECH_DECODER_PARTS_H
#define SL_SPEECH_DECODER_PARTS_H

#include "core/mllr.h"
#include "speech/decoder.h"

#include <pocketsphinx.h>

struct sl_fitted_model;

struct sl_decoder_library {
    ps_decoder_t *ps;                    /* the decoder's own */
    double nats;                         /* one unit of its scores */
    const struct sl_fitted_model *model; /* knows its phones; NULL when it cannot be fitted */
};

struct sl_decoder_library sl_decoder_library(const struct sl_decoder *decoder);

/* The cepstra of what is loaded, the mean taken off; valid until the next load. */
struct sl_decoder_rows {
    mfcc_t *const *cepstra;
    const size_t *origin; /* the frame of the sound that each row is, rising */
    size_t n;
};

struct sl_decoder_rows sl_decoder_loaded(const struct sl_decoder *decoder);

/* The first of these rows that is of this frame or a later one; n when there is none. */
size_t sl_decoder_row_of(const struct sl_decoder_rows *rows, size_t frame);

/* The acoustic model as it can be fitted; the decoder's own. NULL when it cannot be, or nothing was
 * loaded. */
struct sl_fitted_model *sl_decoder_fitted_model(const struct sl_decoder *decoder);

/* Moves that model, which there must be, to where the speaker has it. */
void sl_decoder_to_speaker(struct sl_decoder *decoder, const struct sl_mllr *speaker);

/* Makes it search for the phrases of its grammar from the next utterance on. */
bool sl_decoder_choose(struct sl_decoder *decoder);

/* Searches rows first to end - 1 of what is loaded with what was chosen; the best path is the
 * library's to tell. */
enum sl_status sl_decoder_search_rows(struct sl_decoder *decoder, size_t first, size_t end,
                                      struct sl_error *error);

/* Whether a name on the library's best path is that of a word, not of a phone, silence or an empty
 * step; NULL is not. */
bool sl_is_word(const char *name);

/* Adds the best path of the library's last search, `shift` frames later than the library has it.
 */
enum sl_status sl_segments_take(const struct sl_decoder_library *library, size_t shift,
                                struct sl_segments *segments, struct sl_error *error);

#endif
