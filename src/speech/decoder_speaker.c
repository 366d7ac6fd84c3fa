#include "speech/decoder_speaker.h"

#include "core/str.h"
#include "speech/decoder_parts.h"
#include "speech/fitted_model.h"
#include "speech/row_features.h"
#include "speech/speaker_fit.h"

#include <sphinxbase/fsg_model.h>

#include <stdlib.h>
#include <string.h>

#define SEARCH_NAME "speaker"

/* Learning on its way. */
struct learning {
    struct sl_decoder *decoder;
    struct sl_fitted_model *model;
    const struct sl_segments *words;
    struct sl_speaker_frames frames; /* whose phone is known */
};

/* Words that were said in a row, segments first to end - 1; silences may stand between. */
struct chain {
    size_t first, end;
};

/* A grammar of phones on its way: what the words of a chain may have sounded like. */
struct spelling {
    fsg_model_t *fsg; /* NULL: states are counted only */
    int from, to;     /* of the word at hand */
    int at, n_states;
    bool failed;
};

static void add_phone(struct spelling *spelling, const char *phone, size_t length, bool last)
{
    int next = last ? spelling->to : spelling->n_states++;
    if (spelling->fsg != NULL) {
        char *name = sl_strf("+%.*s", (int)length, phone);
        if (name == NULL) {
            spelling->failed = true;
            return;
        }
        fsg_model_trans_add(spelling->fsg, spelling->at, next, 0,
                            fsg_model_word_add(spelling->fsg, name));
        free(name);
    }
    spelling->at = next;
}

/* Adds a pronunciation, "K L AH CH". */
static void add_phones(struct spelling *spelling, const char *phones)
{
    spelling->at = spelling->from;
    while (*phones != '\0' && !spelling->failed) {
        size_t length = strcspn(phones, " ");
        const char *next = phones + length + strspn(phones + length, " ");
        add_phone(spelling, phones, length, *next == '\0');
        phones = next;
    }
}

/* Adds every pronunciation of a word. */
static void add_word(struct spelling *spelling, ps_decoder_t *ps, size_t word)
{
    bool known = true;
    spelling->from = spelling->to;
    spelling->to = spelling->n_states++;
    for (size_t variant = 0; known && !spelling->failed; variant++) {
        char *name = sl_strf("%zu.%zu", word, variant);
        char *phones = name != NULL ? ps_lookup_word(ps, name) : NULL;
        known = phones != NULL;
        spelling->failed = name == NULL;
        if (known) {
            add_phones(spelling, phones);
        }
        free(phones);
        free(name);
    }
}

static void spell(struct spelling *spelling, const struct learning *learning,
                  const struct chain *chain)
{
    ps_decoder_t *ps = sl_decoder_library(learning->decoder).ps;
    spelling->n_states = 1;
    for (size_t i = chain->first; i < chain->end; i++) {
        if (learning->words->items[i].kind == SL_SEGMENT_WORD) {
            add_word(spelling, ps, learning->words->items[i].word);
        }
    }
}

static fsg_model_t *make_fsg(const struct learning *learning, const struct chain *chain)
{
    struct spelling spelling = {0};
    spell(&spelling, learning, chain); /* the library wants to know how many states */
    logmath_t *lmath = ps_get_logmath(sl_decoder_library(learning->decoder).ps);
    fsg_model_t *fsg =
        spelling.failed ? NULL : fsg_model_init(SEARCH_NAME, lmath, 1, spelling.n_states);
    if (fsg == NULL) {
        return NULL;
    }
    spelling = (struct spelling){.fsg = fsg};
    spell(&spelling, learning, chain);
    fsg->start_state = 0;
    fsg->final_state = spelling.to;
    (void)fsg_model_add_silence(fsg, "<sil>", -1, 1);
    if (spelling.failed) {
        fsg_model_free(fsg);
        return NULL;
    }
    return fsg;
}

static enum sl_status add_frame(struct sl_speaker_frames *frames, size_t codebook,
                                const struct sl_decoder_rows *rows, size_t row,
                                struct sl_error *error)
{
    struct sl_speaker_frame *items =
        sl_grow(frames->items, frames->count, &frames->room, sizeof *items);
    if (items == NULL) {
        return sl_fail_memory(error);
    }
    frames->items = items;
    struct sl_speaker_frame *frame = &items[frames->count++];
    frame->codebook = codebook;
    sl_row_features(rows, row, frame->features);
    return SL_OK;
}

/* Adds the frames of a phone that lasts from row to row. */
static enum sl_status add_frames(struct learning *learning, size_t codebook, size_t first,
                                 size_t end, struct sl_error *error)
{
    const struct sl_decoder_rows rows = sl_decoder_loaded(learning->decoder);
    enum sl_status status = SL_OK;
    for (size_t row = first; row < end && row < rows.n && status == SL_OK; row++) {
        status = add_frame(&learning->frames, codebook, &rows, row, error);
    }
    return status;
}

/* Reads when each phone was said; the search began at row `first`. */
static enum sl_status read_phones(struct learning *learning, size_t first, struct sl_error *error)
{
    ps_decoder_t *ps = sl_decoder_library(learning->decoder).ps;
    enum sl_status status = SL_OK;
    for (ps_seg_t *at = ps_seg_iter(ps); at != NULL; at = ps_seg_next(at)) {
        const char *name = ps_seg_word(at);
        int from = 0;
        int to = 0;
        ps_seg_frames(at, &from, &to);
        bool phone = name != NULL && name[0] == '+';
        size_t codebook = sl_fitted_model_codebook(learning->model, phone ? name + 1 : "SIL");
        if (name == NULL || strcmp(name, "(NULL)") == 0 || from < 0 || to < from ||
            codebook == sl_fitted_model_gaussians(learning->model)->n_codebooks) {
            continue;
        }
        status =
            add_frames(learning, codebook, first + (size_t)from, first + (size_t)to + 1, error);
        if (status != SL_OK) {
            ps_seg_free(at);
            break;
        }
    }
    return status;
}

static enum sl_status learn_chain(struct learning *learning, const struct chain *chain,
                                  struct sl_error *error)
{
    const struct sl_decoder_rows rows = sl_decoder_loaded(learning->decoder);
    const struct sl_segment *last = &learning->words->items[chain->end - 1];
    size_t first = sl_decoder_row_of(&rows, learning->words->items[chain->first].start_frame);
    size_t end = sl_decoder_row_of(&rows, last->start_frame + last->n_frames);
    if (end <= first) {
        return SL_OK;
    }
    ps_decoder_t *ps = sl_decoder_library(learning->decoder).ps;
    fsg_model_t *fsg = make_fsg(learning, chain);
    bool set =
        fsg != NULL && ps_set_fsg(ps, SEARCH_NAME, fsg) == 0 && ps_set_search(ps, SEARCH_NAME) == 0;
    fsg_model_free(fsg);
    if (!set) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx does not start a search");
    }
    enum sl_status status = sl_decoder_search_rows(learning->decoder, first, end, error);
    return status == SL_OK ? read_phones(learning, first, error) : status;
}

/* The chain of trusted words from segment `from` on; empty at the end. */
static struct chain next_chain(const struct sl_segments *words, const bool *trusted, size_t from)
{
    while (from < words->count && !(trusted[from] && words->items[from].kind == SL_SEGMENT_WORD)) {
        from++;
    }
    struct chain chain = {from, from};
    for (size_t i = from; i < words->count; i++) {
        if (trusted[i] && words->items[i].kind == SL_SEGMENT_WORD) {
            chain.end = i + 1;
        } else if (words->items[i].kind != SL_SEGMENT_SILENCE) {
            break;
        }
    }
    return chain;
}

/* The phones of the loop lie where the first search has them. */
static enum sl_status learn_phones(struct learning *learning, const bool *trusted,
                                   struct sl_error *error)
{
    const struct sl_decoder_rows rows = sl_decoder_loaded(learning->decoder);
    size_t n_codebooks = sl_fitted_model_gaussians(learning->model)->n_codebooks;
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < learning->words->count && status == SL_OK; i++) {
        const struct sl_segment *at = &learning->words->items[i];
        if (trusted[i] && at->kind == SL_SEGMENT_PHONE && at->codebook < n_codebooks) {
            status = add_frames(learning, at->codebook, sl_decoder_row_of(&rows, at->start_frame),
                                sl_decoder_row_of(&rows, at->start_frame + at->n_frames), error);
        }
    }
    return status;
}

static enum sl_status learn(struct learning *learning, const bool *trusted, struct sl_error *error)
{
    enum sl_status status = learn_phones(learning, trusted, error);
    struct chain chain = next_chain(learning->words, trusted, 0);
    while (status == SL_OK && chain.end > chain.first) {
        status = learn_chain(learning, &chain, error);
        chain = next_chain(learning->words, trusted, chain.end);
    }
    return status;
}

enum sl_status sl_decoder_adapt(struct sl_decoder *decoder, const struct sl_segments *words,
                                const bool *trusted, bool *adapted, struct sl_error *error)
{
    *adapted = false;
    struct learning learning = {
        .decoder = decoder, .model = sl_decoder_fitted_model(decoder), .words = words};
    if (learning.model == NULL) {
        return SL_OK;
    }
    struct sl_mllr mllr;
    enum sl_status status = learn(&learning, trusted, error);
    bool enough = status == SL_OK && learning.frames.count >= SL_SPEAKER_LEAST_FRAMES &&
                  sl_speaker_fit(sl_fitted_model_gaussians(learning.model), &learning.frames, &mllr,
                                 NULL) == SL_OK;
    free(learning.frames.items);
    if (enough) {
        sl_decoder_to_speaker(decoder, &mllr);
        *adapted = true;
    }
    return status;
}
