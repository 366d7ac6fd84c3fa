#include "speech/listener.h"

#include "speech/decoder_stream.h"
#include "speech/dither.h"
#include "speech/pauses.h"
#include "speech/phrases.h"
#include "speech/searches.h"
#include "speech/utterance.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BEFORE_FRAMES 30 /* searched before somebody speaks: soft beginnings of words */
#define END_FRAMES                                                                                 \
    60                /* a pause that ends an utterance: as long as two margins of the recogniser  \
                       */
#define LOOK_FRAMES 5 /* between two looks at the best path */
#define LONG_FRAMES 1000 /* a longer utterance is ended where no phrase is being said */
#define TOO_LONG_FRAMES 3000
#define AFTER_FRAMES 30            /* of a pause count as the voice's, as in the recogniser */
#define START_WEIGHT 200.0         /* frames that the start values count for */
#define SURE_FRAMES 300.0          /* from so many on the voice is known without them */
#define MOST_WEIGHT 6000.0         /* what is longer ago than a minute or two is forgotten */
#define LATE_BLOCKS SL_STREAM_ROWS /* that features come late, at most */
#define PADDING_BLOCKS 2           /* silence that brings the last features out */
#define MEAN_MOST 200.0

struct sl_listener {
    struct sl_recogniser_settings settings;
    struct sl_paths paths;
    struct sl_stream *stream;
    struct sl_utterance *utterance;
    struct sl_pauses pauses;
    /* The voice: start values, and the sum over the frames that were heard of it. */
    struct sl_voice start;
    double sum[SL_VOICE_CEPSTRA];
    double weight;
    double speech_s;
    /* The sound. */
    int16_t block[SL_FRAME_SAMPLES];
    size_t n_block;
    size_t n_blocks, n_rows;
    bool active[LATE_BLOCKS]; /* by block */
    struct sl_row before[BEFORE_FRAMES];
    size_t n_before; /* rows in it, up to the last one of the sound */
    /* The utterance. */
    bool speaking;
    size_t first_row;
    size_t quiet_rows;
};

static enum sl_status check_voice(const struct sl_voice *voice, struct sl_error *error)
{
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        if (!(fabs(voice->mean[i]) <= MEAN_MOST)) {
            return sl_fail(error, SL_INVALID, NULL, "run `sayline soundcheck` again",
                           "the start values of the voice are out of range");
        }
    }
    return SL_OK;
}

static enum sl_status make_stream(struct sl_listener *listener, const struct sl_phrasebook *book,
                                  const struct sl_recogniser_paths *paths, struct sl_error *error)
{
    struct sl_searches searches = {0};
    enum sl_status status = sl_searches_make(book, paths, &listener->settings, &searches, error);
    if (status == SL_OK) {
        status = sl_stream_new(&searches.setup, &listener->stream, error);
    }
    sl_searches_clear(&searches);
    return status;
}

static enum sl_status fill(struct sl_listener *listener, const struct sl_routine *routine,
                           const struct sl_listener_setup *setup, struct sl_error *error)
{
    bool known = setup->voice != NULL && setup->voice->known;
    enum sl_status status = known ? check_voice(setup->voice, error) : SL_OK;
    if (status == SL_OK) {
        status = sl_paths_copy(&routine->phrasebook, &listener->paths, error);
    }
    if (status == SL_OK) {
        status = make_stream(listener, &routine->phrasebook, setup->paths, error);
    }
    if (status != SL_OK) {
        return status;
    }
    listener->start = known ? *setup->voice : sl_stream_usual_voice(listener->stream);
    sl_pauses_start(&listener->pauses);
    struct sl_utterance_means means = {listener->stream, &listener->paths, &listener->settings};
    return sl_utterance_new(&means, &listener->utterance, error);
}

enum sl_status sl_listener_new(const struct sl_routine *routine,
                               const struct sl_listener_setup *setup, struct sl_listener **listener,
                               struct sl_error *error)
{
    struct sl_listener *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->settings = setup->settings != NULL ? *setup->settings : sl_recogniser_defaults();
    enum sl_status status = fill(made, routine, setup, error);
    if (status != SL_OK) {
        sl_listener_free(made);
        return status;
    }
    *listener = made;
    return SL_OK;
}

void sl_listener_free(struct sl_listener *listener)
{
    if (listener == NULL) {
        return;
    }
    sl_utterance_free(listener->utterance);
    sl_stream_free(listener->stream);
    sl_paths_clear(&listener->paths);
    free(listener);
}

/* The mean that is taken off the features now. */
static double mean_of(const struct sl_listener *listener, size_t i)
{
    return (listener->start.mean[i] * START_WEIGHT + listener->sum[i]) /
           (START_WEIGHT + listener->weight);
}

static void learn_voice(struct sl_listener *listener, const struct sl_row *row)
{
    if (listener->weight >= MOST_WEIGHT) {
        listener->weight /= 2;
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            listener->sum[i] /= 2;
        }
    }
    listener->weight += 1;
    listener->speech_s += SL_FRAME_S;
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        listener->sum[i] += (double)row->cepstra[i];
    }
}

static enum sl_status search(struct sl_listener *listener, const struct sl_row *row,
                             struct sl_error *error)
{
    if (listener->quiet_rows <= AFTER_FRAMES) {
        learn_voice(listener, row);
    }
    struct sl_row level;
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        level.cepstra[i] = (float)((double)row->cepstra[i] - mean_of(listener, i));
    }
    return sl_utterance_add(listener->utterance, &level, error);
}

/* Begins an utterance with what was kept of the frames before `listener->n_rows`. */
static enum sl_status begin(struct sl_listener *listener, struct sl_error *error)
{
    enum sl_status status = sl_utterance_begin(listener->utterance, error);
    listener->speaking = true;
    listener->quiet_rows = 0;
    listener->first_row = listener->n_rows - listener->n_before;
    for (size_t row = listener->first_row; status == SL_OK && row < listener->n_rows; row++) {
        status = search(listener, &listener->before[row % BEFORE_FRAMES], error);
    }
    return status;
}

static struct sl_utterance_place place_of(const struct sl_listener *listener)
{
    return (struct sl_utterance_place){.first_frame = listener->first_row,
                                       .quiet_frames = listener->quiet_rows,
                                       .snr_db = sl_pauses_snr_db(&listener->pauses)};
}

static enum sl_status end(struct sl_listener *listener, struct sl_heard_list *heard,
                          struct sl_error *error)
{
    struct sl_utterance_place place = place_of(listener);
    listener->speaking = false;
    listener->n_before = 0; /* was searched */
    return sl_utterance_end(listener->utterance, &place, heard, error);
}

static bool is_over(const struct sl_listener *listener)
{
    size_t n = sl_utterance_frames(listener->utterance);
    return listener->quiet_rows >= END_FRAMES || n >= TOO_LONG_FRAMES ||
           (n >= LONG_FRAMES && sl_utterance_between(listener->utterance));
}

static void keep(struct sl_listener *listener, const struct sl_row *row)
{
    listener->before[listener->n_rows % BEFORE_FRAMES] = *row;
    listener->n_before += listener->n_before < BEFORE_FRAMES;
}

/* The next frame of features of the sound. */
static enum sl_status take_row(struct sl_listener *listener, const struct sl_row *row,
                               struct sl_heard_list *heard, struct sl_error *error)
{
    bool active = listener->active[listener->n_rows % LATE_BLOCKS];
    enum sl_status status = SL_OK;
    if (active && !listener->speaking) {
        status = begin(listener, error);
    }
    if (!listener->speaking) {
        keep(listener, row);
        listener->n_rows++;
        return status;
    }
    listener->quiet_rows = active ? 0 : listener->quiet_rows + 1;
    listener->n_rows++;
    if (status == SL_OK) {
        status = search(listener, row, error);
    }
    if (status == SL_OK && is_over(listener)) {
        return end(listener, heard, error);
    }
    if (status == SL_OK && listener->n_rows % LOOK_FRAMES == 0) {
        struct sl_utterance_place place = place_of(listener);
        status = sl_utterance_settle(listener->utterance, &place, heard, error);
    }
    return status;
}

/* The block that is full, or what there is of the last one. */
static enum sl_status take_block(struct sl_listener *listener, struct sl_heard_list *heard,
                                 struct sl_error *error)
{
    struct sl_row rows[SL_STREAM_ROWS];
    size_t n = listener->n_block;
    listener->n_block = 0;
    listener->active[listener->n_blocks % LATE_BLOCKS] =
        sl_pauses_add(&listener->pauses, listener->block, n);
    listener->n_blocks++;
    assert(listener->n_blocks - listener->n_rows <= LATE_BLOCKS);
    enum sl_status status = SL_OK;
    size_t n_rows = sl_stream_features(listener->stream, listener->block, n, rows);
    for (size_t i = 0; i < n_rows && status == SL_OK; i++) {
        status = take_row(listener, &rows[i], heard, error);
    }
    return status;
}

enum sl_status sl_listener_feed(struct sl_listener *listener, const int16_t *samples,
                                size_t n_samples, struct sl_heard_list *heard,
                                struct sl_error *error)
{
    enum sl_status status = SL_OK;
    while (n_samples > 0 && status == SL_OK) {
        size_t n = SL_FRAME_SAMPLES - listener->n_block;
        n = n < n_samples ? n : n_samples;
        sl_dither_copy(listener->block + listener->n_block, samples, n,
                       listener->n_blocks * SL_FRAME_SAMPLES + listener->n_block);
        listener->n_block += n;
        samples += n;
        n_samples -= n;
        if (listener->n_block == SL_FRAME_SAMPLES) {
            status = take_block(listener, heard, error);
        }
    }
    return status;
}

enum sl_status sl_listener_finish(struct sl_listener *listener, struct sl_heard_list *heard,
                                  struct sl_error *error)
{
    static const int16_t silence[SL_FRAME_SAMPLES];
    size_t n_silence =
        SL_FRAME_SAMPLES - listener->n_block + (size_t)PADDING_BLOCKS * SL_FRAME_SAMPLES;
    enum sl_status status = SL_OK;
    while (n_silence > 0 && status == SL_OK) {
        size_t n = n_silence < SL_FRAME_SAMPLES ? n_silence : SL_FRAME_SAMPLES;
        status = sl_listener_feed(listener, silence, n, heard, error);
        n_silence -= n;
    }
    if (listener->speaking) {
        enum sl_status ended = end(listener, heard, status == SL_OK ? error : NULL);
        status = status == SL_OK ? ended : status;
    }
    sl_stream_reset(listener->stream);
    sl_pauses_start(&listener->pauses);
    listener->n_block = listener->n_blocks = listener->n_rows = listener->n_before = 0;
    return status;
}

bool sl_listener_replaces(const struct sl_heard *later, const struct sl_heard *earlier)
{
    return later->start_s < earlier->end_s && earlier->start_s < later->end_s;
}

bool sl_listener_goes_on(const struct sl_heard *later, const struct sl_heard *earlier)
{
    size_t length = strlen(earlier->text);
    return sl_listener_replaces(later, earlier) && later->phase == earlier->phase &&
           strncmp(later->text, earlier->text, length) == 0 && later->text[length] == ' ';
}

void sl_listener_drop_replaced(struct sl_heard_list *heard)
{
    size_t kept = 0;
    for (size_t i = 0; i < heard->count; i++) {
        bool stays = true;
        for (size_t j = i + 1; j < heard->count; j++) {
            stays = stays && !sl_listener_replaces(&heard->items[j], &heard->items[i]);
        }
        if (stays) {
            heard->items[kept++] = heard->items[i];
        } else {
            free(heard->items[i].text);
        }
    }
    heard->count = kept;
}

bool sl_listener_speaking(const struct sl_listener *listener)
{
    return listener->speaking;
}

struct sl_voice sl_listener_voice(const struct sl_listener *listener, double *speech_s)
{
    struct sl_voice voice = {.known = true};
    bool sure = listener->weight >= SURE_FRAMES;
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        voice.mean[i] = sure ? listener->sum[i] / listener->weight : mean_of(listener, i);
    }
    *speech_s = listener->speech_s;
    return voice;
}
