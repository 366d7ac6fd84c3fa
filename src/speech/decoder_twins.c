#include "speech/decoder_twins.h"

#include "core/str.h"
#include "speech/decoder_parts.h"

#include <sphinxbase/fsg_model.h>

#include <math.h>
#include <stdlib.h>

#define SEARCH_NAME "twins"

/* Adds a word, in all its pronunciations, from one state to another. */
static bool add_word(ps_decoder_t *ps, fsg_model_t *fsg, size_t word, size_t from, size_t to)
{
    for (size_t variant = 0;; variant++) {
        char *name = sl_strf("%zu.%zu", word, variant);
        char *known = name != NULL ? ps_lookup_word(ps, name) : NULL;
        if (known != NULL) {
            fsg_model_trans_add(fsg, (int32)from, (int32)to, 0, fsg_model_word_add(fsg, name));
        }
        bool last = known == NULL;
        bool failed = name == NULL;
        free(known);
        free(name);
        if (last) {
            return !failed && variant > 0;
        }
    }
}

/* The phrase's words in a row, states 0 to n; or with exactly one twin's word in place: a second
 * row of states, n + 1 to 2 n + 1, is where that was said. */
static fsg_model_t *make_fsg(ps_decoder_t *ps, const struct sl_twins *twins, bool other)
{
    size_t n = twins->n_words;
    fsg_model_t *fsg =
        fsg_model_init(SEARCH_NAME, ps_get_logmath(ps), 1, (int32)(other ? 2 * (n + 1) : n + 1));
    if (fsg == NULL) {
        return NULL;
    }
    fsg->start_state = 0;
    fsg->final_state = fsg->n_state - 1;
    bool added = true;
    for (size_t i = 0; i < n && added; i++) {
        added = add_word(ps, fsg, twins->words[i], i, i + 1) &&
                (!other || add_word(ps, fsg, twins->words[i], n + 1 + i, n + 2 + i));
    }
    for (size_t i = 0; i < twins->count && other && added; i++) {
        const struct sl_twin *twin = &twins->items[i];
        added = add_word(ps, fsg, twin->other, twin->place, n + 2 + twin->place);
    }
    if (!added) {
        fsg_model_free(fsg);
        return NULL;
    }
    (void)fsg_model_add_silence(fsg, "<sil>", -1, 1);
    return fsg;
}

/* Words on the best path: fewer than were to be said when it did not come to their end. */
static size_t n_words(const struct sl_decoder_library *library)
{
    size_t n = 0;
    for (ps_seg_t *at = ps_seg_iter(library->ps); at != NULL; at = ps_seg_next(at)) {
        n += sl_is_word(ps_seg_word(at)) ? 1 : 0;
    }
    return n;
}

/* Where words are held against the sound: rows first to end - 1 of what is loaded. */
struct place {
    struct sl_decoder *decoder;
    size_t first, end;
};

/* The log likelihood of the place, nats; -INFINITY when the words do not fit at all. */
static enum sl_status score(const struct place *place, const struct sl_twins *twins, bool other,
                            double *nats, struct sl_error *error)
{
    struct sl_decoder_library library = sl_decoder_library(place->decoder);
    fsg_model_t *fsg = make_fsg(library.ps, twins, other);
    bool set = fsg != NULL && ps_set_fsg(library.ps, SEARCH_NAME, fsg) == 0 &&
               ps_set_search(library.ps, SEARCH_NAME) == 0;
    fsg_model_free(fsg);
    if (!set) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx does not start a search");
    }
    enum sl_status status = sl_decoder_search_rows(place->decoder, place->first, place->end, error);
    if (status != SL_OK) {
        return status;
    }
    int32 units = 0;
    bool heard = ps_get_hyp(library.ps, &units) != NULL && n_words(&library) == twins->n_words;
    *nats = heard ? units * library.nats : -INFINITY;
    return SL_OK;
}

enum sl_status sl_decoder_twins(struct sl_decoder *decoder, const struct sl_twins *twins,
                                const size_t frames[2], double *margin, struct sl_error *error)
{
    *margin = INFINITY;
    struct sl_decoder_rows rows = sl_decoder_loaded(decoder);
    struct place place = {decoder, sl_decoder_row_of(&rows, frames[0]),
                          sl_decoder_row_of(&rows, frames[1])};
    if (twins->count == 0 || place.end <= place.first) {
        return SL_OK;
    }
    double own = 0;
    double others = 0;
    enum sl_status status = score(&place, twins, false, &own, error);
    if (status == SL_OK) {
        status = score(&place, twins, true, &others, error);
    }
    if (status == SL_OK && isfinite(own) && isfinite(others)) {
        *margin = own - others;
    }
    return status;
}
