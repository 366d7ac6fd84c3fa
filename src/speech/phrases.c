#include "speech/phrases.h"

#include "core/str.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

enum sl_status sl_paths_copy(const struct sl_phrasebook *book, struct sl_paths *paths,
                             struct sl_error *error)
{
    const struct sl_graph *graph = &book->graph;
    struct sl_paths made = {
        .n_states = graph->n_states,
        .arcs = calloc(graph->n_arcs + 1, sizeof(*made.arcs)),
        .phases = calloc(book->n_phrases + 1, sizeof(*made.phases)),
        .settings = calloc(book->n_phrases + 1, sizeof(*made.settings)),
    };
    bool whole = made.arcs != NULL && made.phases != NULL && made.settings != NULL;
    for (size_t i = 0; whole && i < graph->n_arcs; i++) {
        made.arcs[i] = graph->arcs[i];
        made.arcs[i].word = sl_strdup(graph->arcs[i].word);
        whole = made.arcs[i].word != NULL || graph->arcs[i].word == NULL;
        made.n_arcs = i + 1;
    }
    for (size_t i = 0; whole && i < book->n_phrases; i++) {
        made.phases[i] = book->phrases[i].phase;
        made.settings[i] = book->phrases[i].settings;
        made.n_phrases = i + 1;
    }
    if (!whole) {
        sl_paths_clear(&made);
        return sl_fail_memory(error);
    }
    sl_paths_clear(paths);
    *paths = made;
    return SL_OK;
}

void sl_paths_clear(struct sl_paths *paths)
{
    if (paths == NULL) {
        return;
    }
    for (size_t i = 0; i < paths->n_arcs; i++) {
        free((char *)paths->arcs[i].word); /* copied by sl_paths_copy */
    }
    free(paths->arcs);
    free(paths->phases);
    free(paths->settings);
    *paths = (struct sl_paths){0};
}

size_t sl_paths_first(const struct sl_paths *paths, size_t state)
{
    size_t low = 0;
    size_t high = paths->n_arcs;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (paths->arcs[middle].from < state) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* Marks what one round of empty arcs of the phrase reaches; true when that was something new. */
static bool spread(const struct sl_paths *paths, size_t phrase, bool *reached)
{
    bool more = false;
    for (size_t i = 0; i < paths->n_arcs; i++) {
        const struct sl_arc *arc = &paths->arcs[i];
        if (arc->phrase == phrase && arc->word == NULL && arc->to != 0 && reached[arc->from] &&
            !reached[arc->to]) {
            reached[arc->to] = true;
            more = true;
        }
    }
    return more;
}

bool sl_paths_continue(const struct sl_paths *paths, size_t arc, size_t next)
{
    assert(arc < paths->n_arcs && next < paths->n_arcs);
    const struct sl_arc *from = &paths->arcs[arc];
    const struct sl_arc *to = &paths->arcs[next];
    if (from->phrase != to->phrase || from->to == 0) {
        return false;
    }
    if (from->to == to->from) {
        return true;
    }
    bool *reached = calloc(paths->n_states, sizeof(*reached));
    if (reached == NULL) {
        return false;
    }
    reached[from->to] = true;
    while (!reached[to->from] && spread(paths, from->phrase, reached)) {
    }
    bool continues = reached[to->from];
    free(reached);
    return continues;
}

/* Begins a phrase at the end of the list; NULL when memory runs out. */
static struct sl_span *begin(struct sl_spans *spans, const struct sl_paths *paths, size_t phrase)
{
    struct sl_span *items = sl_grow(spans->items, spans->count, &spans->room, sizeof(*items));
    if (items == NULL) {
        return NULL;
    }
    spans->items = items;
    struct sl_span *span = &items[spans->count++];
    *span = (struct sl_span){.phase = paths->phases[phrase], .settings = paths->settings[phrase]};
    return span;
}

/* Adds a word to a phrase; false when memory runs out. */
static bool extend(struct sl_span *span, const struct sl_arc *arc,
                   const struct sl_segments *segments, size_t segment)
{
    const struct sl_segment *word = &segments->items[segment];
    char *text =
        span->text == NULL ? sl_strdup(arc->word) : sl_strf("%s %s", span->text, arc->word);
    if (text == NULL) {
        return false;
    }
    free(span->text);
    span->text = text;
    if (span->n_words == 0) {
        span->start_frame = word->start_frame;
        span->first_segment = segment;
    } else if (word->start_frame - span->end_frame > span->longest_pause) {
        span->longest_pause = word->start_frame - span->end_frame;
    }
    span->end_frame = word->start_frame + word->n_frames;
    span->n_segments = segment - span->first_segment + 1;
    span->n_words++;
    sl_settings_merge(&span->settings, &arc->settings);
    return true;
}

enum sl_status sl_spans_gather(const struct sl_paths *paths, const struct sl_segments *segments,
                               struct sl_spans *spans, struct sl_error *error)
{
    sl_spans_clear(spans);
    struct sl_span *span = NULL; /* the phrase that goes on */
    size_t last_arc = 0;
    for (size_t i = 0; i < segments->count; i++) {
        const struct sl_segment *segment = &segments->items[i];
        if (segment->kind == SL_SEGMENT_SILENCE) {
            continue;
        }
        if (segment->kind == SL_SEGMENT_PHONE || segment->kind == SL_SEGMENT_GAP) {
            span = NULL;
            continue;
        }
        const struct sl_arc *arc = &paths->arcs[segment->arc];
        if (span == NULL || !sl_paths_continue(paths, last_arc, segment->arc)) {
            span = begin(spans, paths, arc->phrase);
        }
        if (span == NULL || !extend(span, arc, segments, i)) {
            return sl_fail_memory(error);
        }
        last_arc = segment->arc;
    }
    return SL_OK;
}

void sl_spans_clear(struct sl_spans *spans)
{
    if (spans == NULL) {
        return;
    }
    for (size_t i = 0; i < spans->count; i++) {
        free(spans->items[i].text);
    }
    free(spans->items);
    *spans = (struct sl_spans){0};
}
