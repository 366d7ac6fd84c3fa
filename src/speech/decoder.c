#include "speech/decoder.h"

#include "core/str.h"
#include "speech/decoder_parts.h"

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
#define MIN_SPEECH_FRAMES 50 /* half a second */
#define MODEL_MEND "install Debian's package pocketsphinx-en-us"

struct sl_decoder {
    ps_decoder_t *ps;
    double nats; /* one unit of score */
    /* What is loaded. */
    mfcc_t **cepstra; /* rows, in one block that cepstra[0] points to */
    size_t *origin;   /* the frame of the sound that each row is */
    size_t n_frames;
    size_t frames_room;
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
    made->nats = logmath_log_to_ln(ps_get_logmath(made->ps), 1 << SCORE_SHIFT);
    if (!set_grammars(made, setup)) {
        sl_decoder_free(made);
        return sl_fail(error, SL_UNSUPPORTED, folder, MODEL_MEND,
                       "PocketSphinx does not take the grammar of the phrasebook");
    }
    *decoder = made;
    return SL_OK;
}

static void free_rows(struct sl_decoder *decoder)
{
    if (decoder->cepstra != NULL) {
        free(decoder->cepstra[0]);
    }
    free(decoder->cepstra);
    free(decoder->origin);
}

/* Room for n_frames rows of features. */
static bool make_room(struct sl_decoder *decoder, size_t n_frames)
{
    if (n_frames <= decoder->frames_room) {
        return true;
    }
    size_t width = (size_t)fe_get_output_size(ps_get_fe(decoder->ps));
    mfcc_t **rows = malloc(n_frames * sizeof(*rows));
    mfcc_t *block = malloc(n_frames * width * sizeof(*block));
    size_t *origin = malloc(n_frames * sizeof(*origin));
    if (rows == NULL || block == NULL || origin == NULL) {
        free(rows);
        free(block);
        free(origin);
        return false;
    }
    for (size_t i = 0; i < n_frames; i++) {
        rows[i] = block + i * width;
    }
    free_rows(decoder);
    decoder->cepstra = rows;
    decoder->origin = origin;
    decoder->frames_room = n_frames;
    return true;
}

/* Drops the rows that are no speech, unless hardly any is, and takes the mean off the others. */
static void keep_speech(struct sl_decoder *decoder, const bool *speech)
{
    size_t width = (size_t)fe_get_output_size(ps_get_fe(decoder->ps));
    size_t n_speech = 0;
    for (size_t f = 0; speech != NULL && f < decoder->n_frames; f++) {
        n_speech += speech[f];
    }
    bool all = n_speech < MIN_SPEECH_FRAMES;
    size_t kept = 0;
    for (size_t f = 0; f < decoder->n_frames; f++) {
        if (all || speech[f]) {
            memmove(decoder->cepstra[kept], decoder->cepstra[f], width * sizeof(mfcc_t));
            decoder->origin[kept++] = f;
        }
    }
    decoder->n_frames = kept;
    for (size_t k = 0; k < width && kept > 0; k++) {
        double sum = 0;
        for (size_t f = 0; f < kept; f++) {
            sum += (double)decoder->cepstra[f][k];
        }
        mfcc_t mean = (mfcc_t)(sum / (double)kept);
        for (size_t f = 0; f < kept; f++) {
            decoder->cepstra[f][k] -= mean;
        }
    }
}

enum sl_status sl_decoder_load(struct sl_decoder *decoder, const int16_t *samples, size_t n_samples,
                               const bool *speech, struct sl_error *error)
{
    decoder->n_frames = 0;
    if (n_samples == 0) {
        return SL_OK;
    }
    size_t most = n_samples / SL_FRAME_SAMPLES + 1;
    if (!make_room(decoder, most)) {
        return sl_fail_memory(error);
    }
    fe_t *fe = ps_get_fe(decoder->ps);
    fe_start_stream(fe); /* forgets the noise of the sound before */
    (void)fe_start_utt(fe);
    size_t left = n_samples;
    int32 n_frames = (int32)most;
    int32 n_last = 0;
    if (fe_process_frames(fe, &samples, &left, decoder->cepstra, &n_frames, NULL) < 0) {
        n_frames = 0;
    }
    decoder->n_frames = (size_t)n_frames;
    if (decoder->n_frames < most) { /* what is left fills one frame with zeros behind it */
        (void)fe_end_utt(fe, decoder->cepstra[decoder->n_frames], &n_last);
        decoder->n_frames += n_last > 0 ? 1 : 0;
    }
    keep_speech(decoder, speech);
    return SL_OK;
}

/* Rows first to end - 1, which lie together in the sound. */
struct island {
    size_t first, end;
};

/* The island that begins at row `first`. */
static struct island island_from(const struct sl_decoder *decoder, size_t first)
{
    size_t end = first + 1;
    while (end < decoder->n_frames && decoder->origin[end] == decoder->origin[end - 1] + 1) {
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

static enum sl_status search_island(struct sl_decoder *decoder, const struct island *island,
                                    struct sl_segments *segments, struct sl_error *error)
{
    if (ps_start_stream(decoder->ps) != 0 || ps_start_utt(decoder->ps) != 0) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx does not start a search");
    }
    int done = ps_process_cep(decoder->ps, decoder->cepstra + island->first,
                              (int)(island->end - island->first), FALSE, TRUE);
    if (ps_end_utt(decoder->ps) != 0 || done < 0) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "PocketSphinx broke off the search");
    }
    for (ps_seg_t *at = ps_seg_iter(decoder->ps); at != NULL; at = ps_seg_next(at)) {
        struct sl_segment segment;
        if (!sl_segment_read(at, decoder->nats, &segment) ||
            segment.start_frame + segment.n_frames > island->end - island->first) {
            continue;
        }
        segment.start_frame += decoder->origin[island->first];
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
    for (size_t row = 0; row < decoder->n_frames && status == SL_OK;) {
        struct island island = island_from(decoder, row);
        status = search_island(decoder, &island, segments, error);
        row = island.end;
        /* what the next island says is another phrase */
        struct sl_segment gap = {SL_SEGMENT_GAP, SL_GRAMMAR_NONE,
                                 decoder->origin[island.end - 1] + 1, 0, 0};
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

bool sl_decoder_choose(struct sl_decoder *decoder, enum sl_search search)
{
    return ps_set_search(decoder->ps, search_names[search]) == 0;
}

void sl_decoder_free(struct sl_decoder *decoder)
{
    if (decoder == NULL) {
        return;
    }
    ps_free(decoder->ps);
    free_rows(decoder);
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
