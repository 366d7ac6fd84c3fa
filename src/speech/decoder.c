#include "speech/decoder.h"

#include "core/str.h"
#include "speech/activity.h"
#include "speech/decoder_parts.h"
#include "speech/features.h"
#include "speech/noise_model.h"
#include "speech/voice_apply.h"

#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* The decoder's scores are logarithms to the base 1.0001, shifted right by this many bits (its
 * SENSCR_SHIFT, which no public header carries). */
#define SCORE_SHIFT 10
#define MODEL_MEND "install Debian's package pocketsphinx-en-us"

struct sl_decoder {
    ps_decoder_t *ps;
    double nats;                        /* one unit of score */
    struct sl_features features;        /* what is loaded */
    struct sl_noise_model *noise_model; /* NULL until there was noisy sound */
    struct sl_mllr voice;               /* identity: the model as it is */
    bool noise_model_tried;
    bool fitted;
};

static const char *const search_names[SL_SEARCH_COUNT] = {"phrases", "loop"};

static pthread_once_t silenced = PTHREAD_ONCE_INIT; /* the library's log is global to the process */

static void silence_library(void)
{
    err_set_logfp(NULL);
    err_set_callback(NULL, NULL);
}

/* The library calls exit() on a missing or empty model file. */
static enum sl_status check_model(const char *folder, struct sl_error *error)
{
    static const char *const files[] = {
        "mdef", "means", "variances", "transition_matrices", "sendump", "feat.params", "noisedict"};
    for (size_t i = 0; i < sizeof(files) / sizeof(files[0]); i++) {
        char *path = sl_strf("%s/%s", folder, files[i]);
        if (path == NULL) {
            return sl_fail_memory(error);
        }
        struct stat info;
        enum sl_status status = SL_OK;
        if (stat(path, &info) != 0) {
            status = sl_fail(error, SL_NOT_FOUND, path, MODEL_MEND,
                             "a file of the acoustic model is missing");
        } else if (!S_ISREG(info.st_mode) || info.st_size == 0) {
            status =
                sl_fail(error, SL_FORMAT, path, MODEL_MEND, "this is no file of an acoustic model");
        }
        free(path);
        if (status != SL_OK) {
            return status;
        }
    }
    return SL_OK;
}

static ps_decoder_t *open_library(const char *folder, double language_weight)
{
    char *weight = sl_strf("%g", language_weight);
    cmd_ln_t *config =
        weight == NULL ? NULL
                       : cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", folder, "-lw", weight,
                                     /* would shift every time after a pause */
                                     "-remove_silence", "no",
                                     /* silence is put into the grammars by this file */
                                     "-fsgusefiller", "no", "-fsgusealtpron", "no",
                                     /* no cost of words or phones but the grammar's */
                                     "-wip", "1", "-pip", "1", "-bestpath", "no",
                                     /* more of a state's Gaussians than the library's 4: in noise
                                        the best are little ahead of the next */
                                     "-topn", "6",
                                     /* wider than the library's: short words were pruned */
                                     "-beam", "1e-58", "-pbeam", "1e-58", "-wbeam", "1e-34", NULL);
    free(weight);
    if (config == NULL) {
        return NULL;
    }
    ps_decoder_t *ps = ps_init(config);
    cmd_ln_free_r(config);
    if (ps != NULL) {
        ps_get_feat(ps)->cmn = CMN_NONE; /* sl_decoder_load takes the mean off */
    }
    return ps;
}

static bool add_words(ps_decoder_t *ps, const struct sl_grammar *grammar)
{
    for (size_t i = 0; i < grammar->n_words; i++) {
        const struct sl_grammar_word *word = &grammar->words[i];
        char *known = ps_lookup_word(ps, word->name);
        if (known == NULL && ps_add_word(ps, word->name, word->phones, FALSE) < 0) {
            return false;
        }
        free(known);
    }
    return true;
}

static fsg_model_t *make_fsg(const struct sl_grammar *grammar, const char *name, logmath_t *lmath,
                             const struct sl_recogniser_settings *settings)
{
    fsg_model_t *fsg =
        fsg_model_init(name, lmath, (float32)settings->language_weight, (int32)grammar->n_states);
    if (fsg == NULL) {
        return NULL;
    }
    fsg->start_state = 0;
    fsg->final_state = 0;
    for (size_t i = 0; i < grammar->n_steps; i++) {
        const struct sl_grammar_step *step = &grammar->steps[i];
        int32 cost =
            (int32)(logmath_log10_to_log(lmath, step->weight_log10) * settings->language_weight);
        if (step->word == SL_GRAMMAR_NONE) {
            (void)fsg_model_null_trans_add(fsg, (int32)step->from, (int32)step->to, cost);
        } else {
            int wid = fsg_model_word_add(fsg, grammar->words[step->word].name);
            fsg_model_trans_add(fsg, (int32)step->from, (int32)step->to, cost, wid);
        }
    }
    glist_free(fsg_model_null_trans_closure(fsg, NULL));
    (void)fsg_model_add_silence(fsg, "<sil>", -1, (float32)pow(10, settings->silence_log10));
    return fsg;
}

static bool set_grammars(struct sl_decoder *decoder, const struct sl_decoder_setup *setup)
{
    for (size_t i = 0; i < SL_SEARCH_COUNT; i++) {
        if (!add_words(decoder->ps, setup->grammars[i])) {
            return false;
        }
        fsg_model_t *fsg = make_fsg(setup->grammars[i], search_names[i],
                                    ps_get_logmath(decoder->ps), setup->settings);
        if (fsg == NULL || ps_set_fsg(decoder->ps, search_names[i], fsg) != 0) {
            fsg_model_free(fsg);
            return false;
        }
        fsg_model_free(fsg); /* the decoder keeps its own reference */
    }
    return true;
}

enum sl_status sl_decoder_new(const struct sl_decoder_setup *setup, struct sl_decoder **decoder,
                              struct sl_error *error)
{
    const char *folder = setup->acoustic_model != NULL ? setup->acoustic_model : SL_ACOUSTIC_MODEL;
    enum sl_status status = check_model(folder, error);
    if (status != SL_OK) {
        return status;
    }
    (void)pthread_once(&silenced, silence_library);
    struct sl_decoder *made = calloc(1, sizeof(*made));
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->ps = open_library(folder, setup->settings->language_weight);
    if (made->ps == NULL) {
        free(made);
        return sl_fail(error, SL_FORMAT, folder, MODEL_MEND,
                       "PocketSphinx cannot use this acoustic model");
    }
    made->voice = setup->voice != NULL ? *setup->voice : sl_mllr_identity();
    if (setup->voice != NULL) {
        status = sl_voice_apply(made->ps, setup->voice, error);
        if (status != SL_OK) {
            sl_decoder_free(made);
            return status;
        }
    }
    made->nats = logmath_log_to_ln(ps_get_logmath(made->ps), 1 << SCORE_SHIFT);
    if (!set_grammars(made, setup)) {
        sl_decoder_free(made);
        return sl_fail(error, SL_UNSUPPORTED, folder, MODEL_MEND,
                       "PocketSphinx does not take the grammar of the phrasebook");
    }
    *decoder = made;
    return SL_OK;
}

/* True when the Gaussians can be fitted to the noise of what is loaded. */
static bool can_fit(struct sl_decoder *decoder, const struct sl_stretch *stretch)
{
    size_t n_noise = 0;
    for (size_t f = 0; stretch->noise != NULL && f < stretch->n_samples / SL_FRAME_SAMPLES; f++) {
        n_noise += stretch->noise[f];
    }
    if (n_noise < SL_NOISE_LEAST_FRAMES) {
        return false;
    }
    if (!decoder->noise_model_tried) { /* another acoustic model may not allow it: then without */
        decoder->noise_model_tried = true;
        (void)sl_noise_model_new(decoder->ps, &decoder->voice, &decoder->noise_model, NULL);
    }
    return decoder->noise_model != NULL;
}

enum sl_status sl_decoder_load(struct sl_decoder *decoder, const struct sl_stretch *stretch,
                               struct sl_error *error)
{
    decoder->fitted = false;
    bool fits = can_fit(decoder, stretch);
    fe_t *fe = fits ? sl_noise_model_front_end(decoder->noise_model) : ps_get_fe(decoder->ps);
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
    if (fits) {
        status = sl_noise_model_fit(decoder->noise_model, &sound, error);
        decoder->fitted = status == SL_OK;
        return status;
    }
    return decoder->noise_model != NULL ? sl_noise_model_rest(decoder->noise_model, error) : SL_OK;
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

bool sl_segment_read(ps_seg_t *at, double nats, struct sl_segment *segment)
{
    const char *word = ps_seg_word(at);
    int start = 0;
    int end = 0;
    int32 acoustic = 0;
    (void)ps_seg_prob(at, &acoustic, NULL, NULL);
    ps_seg_frames(at, &start, &end);
    if (word == NULL || strcmp(word, "(NULL)") == 0 || start < 0 || end < start) {
        return false;
    }
    *segment = (struct sl_segment){.kind = SL_SEGMENT_SILENCE,
                                   .arc = SL_GRAMMAR_NONE,
                                   .start_frame = (size_t)start,
                                   .n_frames = (size_t)(end - start + 1),
                                   .score = acoustic * nats};
    if (word[0] == '+') {
        segment->kind = SL_SEGMENT_PHONE;
    } else if (word[0] >= '0' && word[0] <= '9') {
        segment->kind = SL_SEGMENT_WORD;
        segment->arc = (size_t)strtoul(word, NULL, 10);
    }
    return true;
}

enum sl_status sl_segments_add(struct sl_segments *segments, const struct sl_segment *segment,
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

enum sl_status sl_decoder_search_rows(struct sl_decoder *decoder, size_t first, size_t end,
                                      struct sl_error *error)
{
    if (ps_start_stream(decoder->ps) != 0 || ps_start_utt(decoder->ps) != 0) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx does not start a search");
    }
    int done = ps_process_cep(decoder->ps, decoder->features.rows + first, (int)(end - first),
                              FALSE, TRUE);
    if (ps_end_utt(decoder->ps) != 0 || done < 0) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx broke off the search");
    }
    return SL_OK;
}

static enum sl_status search_island(struct sl_decoder *decoder, const struct island *island,
                                    struct sl_segments *segments, struct sl_error *error)
{
    enum sl_status status = sl_decoder_search_rows(decoder, island->first, island->end, error);
    if (status != SL_OK) {
        return status;
    }
    for (ps_seg_t *at = ps_seg_iter(decoder->ps); at != NULL; at = ps_seg_next(at)) {
        struct sl_segment segment;
        if (!sl_segment_read(at, decoder->nats, &segment) ||
            segment.start_frame + segment.n_frames > island->end - island->first) {
            continue;
        }
        segment.start_frame += decoder->features.origin[island->first];
        if (sl_segments_add(segments, &segment, error) != SL_OK) {
            ps_seg_free(at);
            return SL_NO_MEMORY;
        }
    }
    return SL_OK;
}

enum sl_status sl_decoder_run(struct sl_decoder *decoder, enum sl_search search,
                              struct sl_segments *segments, struct sl_error *error)
{
    segments->count = 0;
    if (!sl_decoder_choose(decoder, search)) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx lost a grammar");
    }
    enum sl_status status = SL_OK;
    for (size_t row = 0; row < decoder->features.count && status == SL_OK;) {
        struct island island = island_from(decoder, row);
        status = search_island(decoder, &island, segments, error);
        row = island.end;
        /* what the next island says is another phrase */
        struct sl_segment gap = {SL_SEGMENT_GAP, SL_GRAMMAR_NONE,
                                 decoder->features.origin[island.end - 1] + 1, 0, 0};
        if (status == SL_OK) {
            status = sl_segments_add(segments, &gap, error);
        }
    }
    return status;
}

struct sl_decoder_library sl_decoder_library(const struct sl_decoder *decoder)
{
    return (struct sl_decoder_library){decoder->ps, decoder->nats};
}

struct sl_decoder_rows sl_decoder_loaded(const struct sl_decoder *decoder)
{
    return (struct sl_decoder_rows){decoder->features.rows, decoder->features.origin,
                                    decoder->features.count};
}

bool sl_decoder_choose(struct sl_decoder *decoder, enum sl_search search)
{
    return ps_set_search(decoder->ps, search_names[search]) == 0;
}

void sl_decoder_free(struct sl_decoder *decoder)
{
    if (decoder == NULL) {
        return;
    }
    sl_noise_model_free(decoder->noise_model);
    ps_free(decoder->ps);
    sl_features_clear(&decoder->features);
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
