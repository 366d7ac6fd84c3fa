#include "speech/decoder.h"

#include "core/str.h"
#include "speech/activity.h"
#include "speech/decoder_library.h"
#include "speech/decoder_parts.h"
#include "speech/features.h"
#include "speech/fitted_model.h"
#include "speech/scores.h"

#include <stdlib.h>
#include <string.h>

struct sl_decoder {
    ps_decoder_t *ps;
    double nats;                          /* one unit of score */
    struct sl_features features;          /* what is loaded */
    char *folder;                         /* of the acoustic model */
    struct sl_fitted_model *fitted_model; /* NULL until something is loaded */
    struct sl_scores *scores;             /* of what is loaded, with fitted_model */
    bool fitted_model_tried;
    bool fitted; /* to noise */
};

/* Opens what a decoder needs; the decoder is to be freed whatever comes back. */
static enum sl_status open_all(struct sl_decoder *decoder, const struct sl_decoder_setup *setup,
                               struct sl_error *error)
{
    const char *folder = setup->acoustic_model != NULL ? setup->acoustic_model : SL_ACOUSTIC_MODEL;
    decoder->folder = sl_strdup(folder);
    if (decoder->folder == NULL) {
        return sl_fail_memory(error);
    }
    double weight = setup->settings->language_weight;
    enum sl_status status = sl_library_open(folder, weight, &decoder->ps, error);
    if (status == SL_OK) {
        decoder->nats = sl_library_unit(decoder->ps);
        status = sl_library_set(decoder->ps, setup->grammar, setup->settings, error);
    }
    return status;
}

enum sl_status sl_decoder_new(const struct sl_decoder_setup *setup, struct sl_decoder **decoder,
                              struct sl_error *error)
{
    struct sl_decoder *made = calloc(1, sizeof(*made));
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = open_all(made, setup, error);
    if (status != SL_OK) {
        sl_decoder_free(made);
        return status;
    }
    *decoder = made;
    return SL_OK;
}

/* Makes it once, and not for a live listener, which loads nothing. Another acoustic model may not
 * allow it: then without. */
static void make_fitted_model(struct sl_decoder *decoder)
{
    struct sl_fitted_model *model = NULL;
    if (decoder->fitted_model_tried) {
        return;
    }
    decoder->fitted_model_tried = true;
    if (sl_fitted_model_new(decoder->ps, decoder->folder, &model, NULL) != SL_OK) {
        return;
    }
    if (sl_scores_new(model, &decoder->scores, NULL) != SL_OK) {
        sl_fitted_model_free(model);
        return;
    }
    decoder->fitted_model = model;
}

struct sl_fitted_model *sl_decoder_fitted_model(const struct sl_decoder *decoder)
{
    return decoder->fitted_model;
}

/* True when the Gaussians can be fitted to the noise of what is loaded. */
static bool can_fit(const struct sl_decoder *decoder, const struct sl_stretch *stretch)
{
    size_t n_noise = 0;
    for (size_t f = 0; stretch->noise != NULL && f < stretch->n_samples / SL_FRAME_SAMPLES; f++) {
        n_noise += stretch->noise[f];
    }
    return n_noise >= SL_NOISE_LEAST_FRAMES && decoder->fitted_model != NULL;
}

enum sl_status sl_decoder_load(struct sl_decoder *decoder, const struct sl_stretch *stretch,
                               struct sl_error *error)
{
    make_fitted_model(decoder);
    bool fits = can_fit(decoder, stretch);
    fe_t *fe = fits ? sl_fitted_model_front_end(decoder->fitted_model) : ps_get_fe(decoder->ps);
    decoder->fitted = false;
    enum sl_status status =
        sl_features_compute(&decoder->features, fe, stretch->samples, stretch->n_samples, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_noisy_sound sound = {0};
    if (fits) {
        sl_features_noise(&decoder->features, stretch->noise, &sound);
    }
    sl_features_keep(&decoder->features, stretch->speech, sound.mean);
    if (decoder->fitted_model == NULL) {
        return SL_OK;
    }
    sl_scores_forget(decoder->scores);
    if (!fits) {
        sl_fitted_model_rest(decoder->fitted_model);
        return SL_OK;
    }
    status = sl_fitted_model_to_noise(decoder->fitted_model, &sound, error);
    decoder->fitted = status == SL_OK;
    return status;
}

void sl_decoder_to_speaker(struct sl_decoder *decoder, const struct sl_mllr *speaker)
{
    sl_fitted_model_to_speaker(decoder->fitted_model, speaker);
    sl_scores_forget(decoder->scores);
}

bool sl_decoder_fitted(const struct sl_decoder *decoder)
{
    return decoder->fitted;
}

/* Rows first to end - 1, which lie together in the sound. */
struct island {
    size_t first, end;
};

/* The island that begins at row `first`. */
static struct island island_from(const struct sl_decoder *decoder, size_t first)
{
    size_t end = first + 1;
    while (end < decoder->features.count &&
           decoder->features.origin[end] == decoder->features.origin[end - 1] + 1) {
        end++;
    }
    return (struct island){first, end};
}

static enum sl_status add_segment(struct sl_segments *segments, const struct sl_segment *segment,
                                  struct sl_error *error)
{
    struct sl_segment *items =
        sl_grow(segments->items, segments->count, &segments->room, sizeof(*items));
    if (items == NULL) {
        return sl_fail_memory(error);
    }
    segments->items = items;
    items[segments->count++] = *segment;
    return SL_OK;
}

/* The phrase ends with the word said last; silence may follow it. */
static void end_phrase(struct sl_segments *segments)
{
    size_t i = segments->count;
    while (i > 0 && segments->items[i - 1].kind == SL_SEGMENT_SILENCE) {
        i--;
    }
    if (i > 0) {
        segments->items[i - 1].ends = segments->items[i - 1].kind == SL_SEGMENT_WORD;
    }
}

bool sl_is_word(const char *name)
{
    return name != NULL && name[0] >= '0' && name[0] <= '9';
}

/* Adds what the library has at a place of its best path, `shift` frames later. */
static enum sl_status take(ps_seg_t *at, const struct sl_decoder_library *library, size_t shift,
                           struct sl_segments *segments, struct sl_error *error)
{
    const char *word = ps_seg_word(at);
    int start = 0;
    int end = 0;
    int32 acoustic = 0;
    (void)ps_seg_prob(at, &acoustic, NULL, NULL);
    ps_seg_frames(at, &start, &end);
    if (word != NULL && strcmp(word, "(NULL)") == 0) { /* the grammar's empty step */
        end_phrase(segments);
        return SL_OK;
    }
    if (word == NULL || start < 0 || end < start) {
        return SL_OK;
    }
    struct sl_segment segment = {.kind = SL_SEGMENT_SILENCE,
                                 .word = SL_GRAMMAR_NONE,
                                 .arc = SL_GRAMMAR_NONE,
                                 .codebook = SL_GRAMMAR_NONE,
                                 .start_frame = (size_t)start + shift,
                                 .n_frames = (size_t)(end - start + 1),
                                 .score = acoustic * library->nats};
    if (word[0] == '+') {
        segment.kind = SL_SEGMENT_PHONE;
        segment.codebook = library->model != NULL
                               ? sl_fitted_model_codebook(library->model, word + 1)
                               : SL_GRAMMAR_NONE;
    } else if (sl_is_word(word)) {
        segment.kind = SL_SEGMENT_WORD;
        segment.word = (size_t)strtoul(word, NULL, 10);
    }
    return add_segment(segments, &segment, error);
}

enum sl_status sl_segments_take(const struct sl_decoder_library *library, size_t shift,
                                struct sl_segments *segments, struct sl_error *error)
{
    for (ps_seg_t *at = ps_seg_iter(library->ps); at != NULL; at = ps_seg_next(at)) {
        if (take(at, library, shift, segments, error) != SL_OK) {
            ps_seg_free(at);
            return SL_NO_MEMORY;
        }
    }
    return SL_OK;
}

/* Lets the library score the rows itself, with the acoustic model as it is. */
static bool search_cepstra(struct sl_decoder *decoder, size_t first, size_t end)
{
    ps_decoder_t *ps = decoder->ps;
    if (ps_start_stream(ps) != 0 || ps_start_utt(ps) != 0) {
        return false;
    }
    int done = ps_process_cep(ps, decoder->features.rows + first, (int)(end - first), FALSE, TRUE);
    return ps_end_utt(ps) == 0 && done >= 0;
}

static bool search_scores(struct sl_decoder *decoder, size_t first, size_t end)
{
    const struct sl_decoder_rows rows = sl_decoder_loaded(decoder);
    FILE *scores = sl_scores_open(decoder->scores, &rows, first, end);
    int done = scores != NULL ? ps_decode_senscr(decoder->ps, scores) : -1;
    if (scores != NULL) {
        (void)fclose(scores);
    }
    return done == (int)(end - first);
}

enum sl_status sl_decoder_search_rows(struct sl_decoder *decoder, size_t first, size_t end,
                                      struct sl_error *error)
{
    bool done = decoder->fitted_model != NULL ? search_scores(decoder, first, end)
                                              : search_cepstra(decoder, first, end);
    return done ? SL_OK
                : sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx broke off the search");
}

/* Adds what is heard in an island, and the gap behind it. */
static enum sl_status search_island(struct sl_decoder *decoder, const struct island *island,
                                    struct sl_segments *segments, struct sl_error *error)
{
    enum sl_status status = sl_decoder_search_rows(decoder, island->first, island->end, error);
    if (status != SL_OK) {
        return status;
    }
    const struct sl_decoder_library library = sl_decoder_library(decoder);
    status = sl_segments_take(&library, decoder->features.origin[island->first], segments, error);
    if (status != SL_OK) {
        return status;
    }
    /* what the next island says is another phrase */
    const struct sl_segment gap = {.kind = SL_SEGMENT_GAP,
                                   .word = SL_GRAMMAR_NONE,
                                   .arc = SL_GRAMMAR_NONE,
                                   .codebook = SL_GRAMMAR_NONE,
                                   .start_frame = decoder->features.origin[island->end - 1] + 1};
    return add_segment(segments, &gap, error);
}

/* True when one of the island's frames is marked; then all are. */
static bool is_marked(const struct sl_decoder *decoder, const struct island *island, bool *frames)
{
    const size_t *origin = decoder->features.origin;
    bool marked = false;
    for (size_t row = island->first; row < island->end && !marked; row++) {
        marked = frames[origin[row]];
    }
    for (size_t row = island->first; row < island->end && marked; row++) {
        frames[origin[row]] = true;
    }
    return marked;
}

/* Copies the segments of one island, from *at on, and the gap behind them. */
static enum sl_status keep_island(const struct sl_segments *old, size_t *at, bool keep,
                                  struct sl_segments *segments, struct sl_error *error)
{
    bool ended = false;
    enum sl_status status = SL_OK;
    for (; *at < old->count && !ended && status == SL_OK; (*at)++) {
        ended = old->items[*at].kind == SL_SEGMENT_GAP;
        status = keep ? add_segment(segments, &old->items[*at], error) : SL_OK;
    }
    return status;
}

enum sl_status sl_decoder_run_again(struct sl_decoder *decoder, bool *frames,
                                    struct sl_segments *segments, struct sl_error *error)
{
    if (!sl_decoder_choose(decoder)) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx lost the grammar");
    }
    struct sl_segments made = {0};
    enum sl_status status = SL_OK;
    size_t at = 0;
    for (size_t row = 0; row < decoder->features.count && status == SL_OK;) {
        struct island island = island_from(decoder, row);
        bool anew = frames == NULL || is_marked(decoder, &island, frames);
        status = keep_island(segments, &at, !anew, &made, error);
        if (status == SL_OK && anew) {
            status = search_island(decoder, &island, &made, error);
        }
        row = island.end;
    }
    if (status != SL_OK) {
        sl_segments_clear(&made);
        return status;
    }
    sl_segments_clear(segments);
    *segments = made;
    return SL_OK;
}

enum sl_status sl_decoder_run(struct sl_decoder *decoder, struct sl_segments *segments,
                              struct sl_error *error)
{
    segments->count = 0;
    return sl_decoder_run_again(decoder, NULL, segments, error);
}

struct sl_decoder_library sl_decoder_library(const struct sl_decoder *decoder)
{
    return (struct sl_decoder_library){decoder->ps, decoder->nats, decoder->fitted_model};
}

struct sl_decoder_rows sl_decoder_loaded(const struct sl_decoder *decoder)
{
    return (struct sl_decoder_rows){decoder->features.rows, decoder->features.origin,
                                    decoder->features.count};
}

size_t sl_decoder_row_of(const struct sl_decoder_rows *rows, size_t frame)
{
    size_t low = 0;
    size_t high = rows->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (rows->origin[middle] < frame) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

bool sl_decoder_choose(struct sl_decoder *decoder)
{
    return ps_set_search(decoder->ps, SL_LIBRARY_SEARCH) == 0;
}

void sl_decoder_free(struct sl_decoder *decoder)
{
    if (decoder == NULL) {
        return;
    }
    sl_scores_free(decoder->scores);
    sl_fitted_model_free(decoder->fitted_model);
    ps_free(decoder->ps);
    sl_features_clear(&decoder->features);
    free(decoder->folder);
    free(decoder);
}

void sl_segments_clear(struct sl_segments *segments)
{
    if (segments == NULL) {
        return;
    }
    free(segments->items);
    *segments = (struct sl_segments){0};
}
