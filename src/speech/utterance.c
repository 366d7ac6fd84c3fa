#include "speech/utterance.h"

#include "core/str.h"
#include "speech/confidence.h"

#include <stdlib.h>
#include <string.h>

/* A phrase is settled when its last word ended so many frames ago and it stood on the best path
 * unchanged at the last look: in a pause soon, as nothing can be added to it any more; while the
 * voice goes on later, as the next words may turn out to belong to it. Found by measurement
 * (docs/method.md). */
#define SETTLED_QUIET_FRAMES 15
#define QUIET_FRAMES 10
#define SETTLED_FRAMES 35
#define FRESH_FRAMES 8
#define BETWEEN_FRAMES 60 /* so long after the last phrase no other is under way */

/* A phrase that was weighed. */
struct weighed {
    size_t start, end; /* frames */
    char *text;
    bool given; /* or it was too unlikely */
};

struct sl_utterance {
    struct sl_utterance_means means;
    size_t n_rows; /* since the beginning */
    struct sl_segments path;
    struct sl_spans spans, spans_before; /* at this look and at the one before */
    struct weighed *weighed;
    size_t n_weighed, weighed_room;
};

enum sl_status sl_utterance_new(const struct sl_utterance_means *means,
                                struct sl_utterance **utterance, struct sl_error *error)
{
    struct sl_utterance *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->means = *means;
    *utterance = made;
    return SL_OK;
}

static void forget(struct sl_utterance *utterance)
{
    for (size_t i = 0; i < utterance->n_weighed; i++) {
        free(utterance->weighed[i].text);
    }
    utterance->n_weighed = 0;
    utterance->n_rows = 0;
    sl_spans_clear(&utterance->spans);
    sl_spans_clear(&utterance->spans_before);
}

void sl_utterance_free(struct sl_utterance *utterance)
{
    if (utterance == NULL) {
        return;
    }
    forget(utterance);
    free(utterance->weighed);
    sl_segments_clear(&utterance->path);
    free(utterance);
}

enum sl_status sl_utterance_begin(struct sl_utterance *utterance, struct sl_error *error)
{
    forget(utterance);
    return sl_stream_begin(utterance->means.stream, error);
}

enum sl_status sl_utterance_add(struct sl_utterance *utterance, const struct sl_row *row,
                                struct sl_error *error)
{
    utterance->n_rows++;
    return sl_stream_step(utterance->means.stream, row, error);
}

size_t sl_utterance_frames(const struct sl_utterance *utterance)
{
    return utterance->n_rows;
}

/* The best path and its phrases as they are now. */
static enum sl_status look(struct sl_utterance *utterance, struct sl_error *error)
{
    sl_spans_clear(&utterance->spans_before);
    utterance->spans_before = utterance->spans;
    utterance->spans = (struct sl_spans){0};
    enum sl_status status = sl_stream_look(utterance->means.stream, &utterance->path, error);
    if (status == SL_OK) {
        status =
            sl_spans_gather(utterance->means.paths, &utterance->path, &utterance->spans, error);
    }
    return status;
}

static bool stood_before(const struct sl_utterance *utterance, const struct sl_span *span)
{
    for (size_t i = 0; i < utterance->spans_before.count; i++) {
        const struct sl_span *before = &utterance->spans_before.items[i];
        if (before->phase == span->phase && before->end_frame == span->end_frame &&
            strcmp(before->text, span->text) == 0) {
            return true;
        }
    }
    return false;
}

/* The path that can be looked at ends with the last word or phone that ended anywhere. When that is
 * a while ago, the search is in the middle of a word that has left all others behind, and the path
 * seen may be one of those. */
static bool path_is_fresh(const struct sl_utterance *utterance)
{
    const struct sl_segments *path = &utterance->path;
    const struct sl_segment *last = path->count == 0 ? NULL : &path->items[path->count - 1];
    return last != NULL && last->start_frame + last->n_frames + FRESH_FRAMES >= utterance->n_rows;
}

static bool is_settled(const struct sl_utterance *utterance, const struct sl_span *span,
                       size_t quiet_frames)
{
    bool quiet = quiet_frames >= QUIET_FRAMES;
    size_t wait = quiet ? SETTLED_QUIET_FRAMES : SETTLED_FRAMES;
    return span->end_frame + wait <= utterance->n_rows && stood_before(utterance, span) &&
           (quiet || path_is_fresh(utterance));
}

/* True when the phrase was weighed already, or says what was given out. */
static bool is_known(const struct sl_utterance *utterance, const struct sl_span *span)
{
    for (size_t i = 0; i < utterance->n_weighed; i++) {
        const struct weighed *old = &utterance->weighed[i];
        bool same = old->start == span->start_frame && old->end == span->end_frame;
        bool over = old->start < span->end_frame && span->start_frame < old->end;
        if (strcmp(old->text, span->text) == 0 && (same || (over && old->given))) {
            return true;
        }
    }
    return false;
}

static enum sl_status remember(struct sl_utterance *utterance, const struct sl_span *span,
                               bool given, struct sl_error *error)
{
    struct weighed *items =
        sl_grow(utterance->weighed, utterance->n_weighed, &utterance->weighed_room, sizeof *items);
    char *text = sl_strdup(span->text);
    if (items != NULL) {
        utterance->weighed = items;
    }
    if (items == NULL || text == NULL) {
        free(text);
        return sl_fail_memory(error);
    }
    items[utterance->n_weighed++] =
        (struct weighed){span->start_frame, span->end_frame, text, given};
    return SL_OK;
}

/* Gives a settled phrase out, unless it is too unlikely. */
static enum sl_status weigh(struct sl_utterance *utterance, const struct sl_span *span,
                            const struct sl_utterance_place *place, struct sl_heard_list *heard,
                            struct sl_error *error)
{
    const struct sl_recogniser_settings *settings = utterance->means.settings;
    struct sl_evidence evidence = sl_evidence_of(span, &utterance->path, NULL, place->snr_db);
    double confidence = sl_confidence(&evidence, settings);
    bool given = confidence >= settings->drop_below;
    enum sl_status status = remember(utterance, span, given, error);
    if (status != SL_OK || !given) {
        return status;
    }
    struct sl_heard item = {
        .phase = span->phase,
        .text = span->text,
        .start_s = (double)(place->first_frame + span->start_frame) * SL_FRAME_S,
        .end_s = (double)(place->first_frame + span->end_frame) * SL_FRAME_S,
        .confidence = confidence,
        .unclear =
            confidence < settings->unclear_below || evidence.pause_s > settings->longest_pause_s,
        .settings = span->settings,
    };
    return sl_heard_add(heard, &item, error);
}

enum sl_status sl_utterance_settle(struct sl_utterance *utterance,
                                   const struct sl_utterance_place *place,
                                   struct sl_heard_list *heard, struct sl_error *error)
{
    enum sl_status status = look(utterance, error);
    for (size_t i = 0; status == SL_OK && i < utterance->spans.count; i++) {
        const struct sl_span *span = &utterance->spans.items[i];
        if (is_settled(utterance, span, place->quiet_frames) && !is_known(utterance, span)) {
            status = weigh(utterance, span, place, heard, error);
        }
    }
    return status;
}

enum sl_status sl_utterance_end(struct sl_utterance *utterance,
                                const struct sl_utterance_place *place, struct sl_heard_list *heard,
                                struct sl_error *error)
{
    enum sl_status status = sl_stream_end(utterance->means.stream, error);
    if (status == SL_OK) {
        status = look(utterance, error);
    }
    for (size_t i = 0; status == SL_OK && i < utterance->spans.count; i++) {
        const struct sl_span *span = &utterance->spans.items[i];
        if (!is_known(utterance, span)) {
            status = weigh(utterance, span, place, heard, error);
        }
    }
    forget(utterance);
    return status;
}

bool sl_utterance_between(const struct sl_utterance *utterance)
{
    const struct sl_spans *spans = &utterance->spans;
    return spans->count == 0 ||
           spans->items[spans->count - 1].end_frame + BETWEEN_FRAMES <= utterance->n_rows;
}
