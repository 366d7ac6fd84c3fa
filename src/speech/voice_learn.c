#include "speech/voice_learn.h"

#include "core/str.h"
#include "speech/activity.h"
#include "speech/decoder_parts.h"
#include "speech/dither.h"
#include "speech/phrases.h"
#include "speech/searches.h"
#include "speech/voice_features.h"
#include "speech/voice_fit.h"
#include "speech/voice_reading.h"

#include <stdlib.h>
#include <strings.h>

/* A phone that is no phrase costs so much (log10, before the language weight): dear, so that a
 * voice which the model knows badly is still found to have read the phrase, and cheap enough that
 * other words are not. */
#define OTHER_LOG10 (-3.0)
#define NEVER_LOG10 (-1000.0)
/* A phrase was read when so many of its phones were found; those missing are the shorter variants
 * of its words. */
#define READ_SHARE 0.75

#define NO_PHONE ((size_t)-1)

/* What was said in a frame of the sound. */
struct label {
    size_t phrase;
    size_t phone; /* NO_PHONE: silence, or nothing of the phrases */
};

/* Learning on its way. */
struct learning {
    const struct sl_voice_task *task;
    struct sl_pronunciations spelling;
    struct sl_phrasebook phrases, phones;
    struct sl_voice_model model;
    int16_t *samples; /* with dither */
    size_t n_samples;
    struct sl_activity activity;
    struct sl_decoder *decoder; /* the model as it is, loaded with the sound */
    struct sl_segments words;   /* what was read */
    struct label *labels;       /* of each frame */
    size_t n_labels;
    struct sl_voice_frames frames;
    /* By phrase: frames, those heard right before and after. */
    size_t n[SL_VOICE_PHRASES_MOST], before[SL_VOICE_PHRASES_MOST], after[SL_VOICE_PHRASES_MOST];
};

static void release(struct learning *learning)
{
    free(learning->frames.items);
    free(learning->labels);
    sl_segments_clear(&learning->words);
    sl_decoder_free(learning->decoder);
    sl_activity_clear(&learning->activity);
    free(learning->samples);
    sl_voice_model_clear(&learning->model);
    sl_phrasebook_clear(&learning->phones);
    sl_phrasebook_clear(&learning->phrases);
    sl_pronunciations_clear(&learning->spelling);
}

static void tell(const struct learning *learning, double share)
{
    if (learning->task->progress != NULL) {
        learning->task->progress(learning->task->user, share);
    }
}

/* What a decoder searches for. */
struct search {
    const struct sl_phrasebook *book;
    double entry_log10, loop_log10; /* as in sl_recogniser_settings */
    const struct sl_mllr *mllr;     /* NULL: the model as it is */
};

/* A decoder of one book, loaded with the sound. */
static enum sl_status open_decoder(const struct learning *learning, const struct search *search,
                                   struct sl_decoder **decoder, struct sl_error *error)
{
    struct sl_recogniser_settings settings = sl_recogniser_defaults();
    struct sl_searches searches = {0};
    settings.entry_log10 = search->entry_log10;
    settings.loop_log10 = search->loop_log10;
    enum sl_status status = sl_searches_make_spelt(&search->book->graph, &learning->spelling,
                                                   &settings, &searches, error);
    if (status == SL_OK) {
        searches.setup.acoustic_model = learning->task->acoustic_model;
        searches.setup.voice = search->mllr;
        status = sl_decoder_new(&searches.setup, decoder, error);
    }
    if (status == SL_OK) {
        struct sl_stretch whole = {.samples = learning->samples,
                                   .n_samples = learning->n_samples,
                                   .speech = learning->activity.speech};
        status = sl_decoder_load(*decoder, &whole, error);
    }
    sl_searches_clear(&searches);
    return status;
}

/* What was read, or other speech. */
static struct search search_read(const struct learning *learning)
{
    return (struct search){&learning->phrases, sl_recogniser_defaults().entry_log10, OTHER_LOG10,
                           NULL};
}

/* Any phone after any other. */
static struct search search_phones(const struct learning *learning, const struct sl_mllr *mllr)
{
    return (struct search){&learning->phones, sl_recogniser_defaults().loop_log10, NEVER_LOG10,
                           mllr};
}

static enum sl_status prepare(struct learning *learning, const int16_t *samples, size_t n_samples,
                              struct sl_error *error)
{
    const struct sl_voice_task *task = learning->task;
    learning->n_samples = n_samples;
    learning->samples = malloc((n_samples + 1) * sizeof(*learning->samples));
    learning->n_labels = n_samples / SL_FRAME_SAMPLES + 1;
    learning->labels = malloc(learning->n_labels * sizeof(*learning->labels));
    if (learning->samples == NULL || learning->labels == NULL) {
        return sl_fail_memory(error);
    }
    sl_dither_copy(learning->samples, samples, n_samples, 0);
    for (size_t i = 0; i < learning->n_labels; i++) {
        learning->labels[i] = (struct label){0, NO_PHONE};
    }
    enum sl_status status = sl_voice_reading_make(task->phrases, task->n_phrases,
                                                  task->pronunciations, &learning->phrases, error);
    if (status == SL_OK) {
        status = sl_voice_reading_phones(&learning->phones, error);
    }
    if (status == SL_OK) {
        status = sl_voice_reading_spell(&learning->spelling, error);
    }
    if (status == SL_OK) {
        double margin_s = sl_recogniser_defaults().margin_s;
        status =
            sl_activity_measure(learning->samples, n_samples, margin_s, &learning->activity, error);
    }
    struct search search = search_read(learning);
    return status == SL_OK ? open_decoder(learning, &search, &learning->decoder, error) : status;
}

/* Which phrases were read. */
static void find_read(const struct learning *learning, struct sl_voice_learnt *learnt)
{
    const struct sl_voice_task *task = learning->task;
    size_t found[SL_VOICE_PHRASES_MOST] = {0};
    for (size_t i = 0; i < learning->words.count; i++) {
        const struct sl_segment *segment = &learning->words.items[i];
        if (segment->kind == SL_SEGMENT_WORD) {
            found[learning->phrases.graph.arcs[segment->arc].phrase]++;
        }
    }
    for (size_t i = 0; i < task->n_phrases; i++) {
        size_t length = sl_voice_reading_length(task->phrases[i], task->pronunciations);
        learnt->read[i] = (double)found[i] >= READ_SHARE * (double)length;
        learnt->n_read += learnt->read[i] ? 1 : 0;
    }
}

static enum sl_status find(struct learning *learning, struct sl_voice_learnt *learnt,
                           struct sl_error *error)
{
    enum sl_status status = sl_decoder_run(learning->decoder, &learning->words, error);
    if (status == SL_OK) {
        status = sl_segments_trace(&learning->phrases.graph, &learning->words, error);
    }
    if (status == SL_OK) {
        find_read(learning, learnt);
    }
    return status;
}

/* The phone of an arc of a book made by voice_reading.h. */
static size_t phone_of(const struct sl_graph *graph, size_t arc)
{
    const char *word = graph->arcs[arc].word;
    size_t phone = 0;
    while (phone < SL_PHONE_COUNT && strcasecmp(sl_phones[phone], word) != 0) {
        phone++;
    }
    return phone;
}

static enum sl_status add_frame(struct learning *learning, const struct sl_decoder_rows *rows,
                                size_t row, const struct label *label, struct sl_error *error)
{
    const char *name = label->phone == NO_PHONE ? "SIL" : sl_phones[label->phone];
    const struct sl_voice_frame frame = {
        .phrase = label->phrase, .codebook = sl_voice_model_codebook(&learning->model, name)};
    if (frame.codebook == learning->model.gaussians.n_codebooks) {
        return sl_fail(error, SL_UNSUPPORTED, name, NULL, "the acoustic model has no such phone");
    }
    return sl_voice_frames_add(&learning->frames, rows, row, &frame, error);
}

/* Labels the frames of what was read and gathers their features. */
static enum sl_status gather(struct learning *learning, const struct sl_voice_learnt *learnt,
                             struct sl_error *error)
{
    const struct sl_decoder_rows rows = sl_decoder_loaded(learning->decoder);
    size_t phrase = 0;
    size_t row = 0;
    for (size_t i = 0; i < learning->words.count; i++) {
        const struct sl_segment *segment = &learning->words.items[i];
        struct label label = {phrase, NO_PHONE};
        if (segment->kind == SL_SEGMENT_WORD) {
            phrase = learning->phrases.graph.arcs[segment->arc].phrase;
            label = (struct label){phrase, phone_of(&learning->phrases.graph, segment->arc)};
        } else if (segment->kind != SL_SEGMENT_SILENCE) {
            continue;
        }
        size_t end = segment->start_frame + segment->n_frames;
        for (size_t f = segment->start_frame; learnt->read[phrase] && f < end; f++) {
            while (row < rows.n && rows.origin[row] < f) {
                row++;
            }
            if (row == rows.n || rows.origin[row] != f || f >= learning->n_labels) {
                continue;
            }
            learning->labels[f] = label;
            enum sl_status status = add_frame(learning, &rows, row, &label, error);
            if (status != SL_OK) {
                return status;
            }
        }
    }
    return SL_OK;
}

/* Hears the sound with the transform (NULL: with none) and adds to `right`, by phrase, the frames
 * whose phone is right; those of fold `fold` only, or all with SL_VOICE_FOLDS. */
static enum sl_status count_right(const struct learning *learning, const struct sl_mllr *mllr,
                                  size_t fold, size_t *right, struct sl_error *error)
{
    struct search search = search_phones(learning, mllr);
    struct sl_decoder *decoder = NULL;
    struct sl_segments heard = {0};
    enum sl_status status = open_decoder(learning, &search, &decoder, error);
    if (status == SL_OK) {
        status = sl_decoder_run(decoder, &heard, error);
    }
    if (status == SL_OK) {
        status = sl_segments_trace(&learning->phones.graph, &heard, error);
    }
    for (size_t i = 0; status == SL_OK && i < heard.count; i++) {
        const struct sl_segment *segment = &heard.items[i];
        if (segment->kind != SL_SEGMENT_WORD) {
            continue;
        }
        size_t phone = learning->phones.graph.arcs[segment->arc].phrase;
        size_t end = segment->start_frame + segment->n_frames;
        for (size_t f = segment->start_frame; f < end && f < learning->n_labels; f++) {
            const struct label *label = &learning->labels[f];
            bool counts = fold == SL_VOICE_FOLDS || label->phrase % SL_VOICE_FOLDS == fold;
            right[label->phrase] += counts && label->phone == phone ? 1 : 0;
        }
    }
    sl_segments_clear(&heard);
    sl_decoder_free(decoder);
    return status;
}

/* Hears one fold with the transform of the others. */
static enum sl_status try_fold(struct learning *learning, size_t fold, struct sl_error *error)
{
    struct sl_mllr mllr;
    enum sl_status status =
        sl_voice_fit(&learning->model.gaussians, &learning->frames, fold, &mllr, error);
    return status == SL_OK ? count_right(learning, &mllr, fold, learning->after, error) : status;
}

static void judge(struct learning *learning, struct sl_voice_learnt *learnt)
{
    size_t n = 0;
    size_t before = 0;
    size_t after = 0;
    for (size_t i = 0; i < learning->n_labels; i++) {
        n += learning->labels[i].phone != NO_PHONE ? 1 : 0;
    }
    for (size_t i = 0; i < learning->task->n_phrases; i++) {
        before += learning->before[i];
        after += learning->after[i];
        learnt->n_better += learning->after[i] > learning->before[i] ? 1 : 0;
        learnt->n_worse += learning->after[i] < learning->before[i] ? 1 : 0;
    }
    learnt->right_before = n > 0 ? (double)before / (double)n : 0;
    learnt->right_after = n > 0 ? (double)after / (double)n : 0;
    learnt->helps = learnt->right_after >= learnt->right_before + SL_VOICE_GAIN_LEAST &&
                    learnt->n_better > learnt->n_worse;
}

static enum sl_status try_out(struct learning *learning, struct sl_voice_learnt *learnt,
                              struct sl_error *error)
{
    enum sl_status status = count_right(learning, NULL, SL_VOICE_FOLDS, learning->before, error);
    for (size_t fold = 0; status == SL_OK && fold < SL_VOICE_FOLDS; fold++) {
        tell(learning, (double)(fold + 2) / (SL_VOICE_FOLDS + 3));
        status = try_fold(learning, fold, error);
    }
    if (status == SL_OK) {
        judge(learning, learnt);
    }
    return status;
}

static enum sl_status learn(struct learning *learning, struct sl_voice_learnt *learnt,
                            struct sl_error *error)
{
    enum sl_status status = find(learning, learnt, error);
    if (status == SL_OK && learnt->n_read < SL_VOICE_PHRASES_LEAST) {
        return sl_fail(error, SL_INVALID, NULL,
                       "read each phrase as it is written, with a pause behind it",
                       "%zu of %zu phrases were understood, and %d are needed", learnt->n_read,
                       learning->task->n_phrases, SL_VOICE_PHRASES_LEAST);
    }
    tell(learning, 1.0 / (SL_VOICE_FOLDS + 3));
    if (status == SL_OK) {
        status = sl_voice_model_load(learning->task->acoustic_model, &learning->model, error);
    }
    if (status == SL_OK) {
        learnt->fingerprint = learning->model.fingerprint;
        status = gather(learning, learnt, error);
    }
    if (status == SL_OK) {
        status = try_out(learning, learnt, error);
    }
    if (status == SL_OK) {
        status = sl_voice_fit(&learning->model.gaussians, &learning->frames, SL_VOICE_FOLDS,
                              &learnt->mllr, error);
    }
    return status;
}

typedef enum sl_status work_on(struct learning *learning, struct sl_voice_learnt *learnt,
                               struct sl_error *error);

/* A sound and what is done with it. */
struct reading {
    const int16_t *samples;
    size_t n_samples;
    work_on *work;
};

static enum sl_status take(const struct sl_voice_task *task, const struct reading *reading,
                           struct sl_voice_learnt *learnt, struct sl_error *error)
{
    struct learning learning = {.task = task};
    struct sl_voice_learnt made = {0};
    enum sl_status status = prepare(&learning, reading->samples, reading->n_samples, error);
    if (status == SL_OK) {
        status = reading->work(&learning, &made, error);
    }
    release(&learning);
    if (status == SL_OK) {
        *learnt = made;
    }
    return status;
}

enum sl_status sl_voice_find(const struct sl_voice_task *task, const int16_t *samples,
                             size_t n_samples, struct sl_voice_learnt *learnt,
                             struct sl_error *error)
{
    const struct reading reading = {samples, n_samples, find};
    return take(task, &reading, learnt, error);
}

enum sl_status sl_voice_learn(const struct sl_voice_task *task, const int16_t *samples,
                              size_t n_samples, struct sl_voice_learnt *learnt,
                              struct sl_error *error)
{
    const struct reading reading = {samples, n_samples, learn};
    enum sl_status status = take(task, &reading, learnt, error);
    if (task->progress != NULL) {
        task->progress(task->user, 1);
    }
    return status;
}
