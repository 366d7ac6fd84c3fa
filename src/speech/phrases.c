#include "speech/phrases.h"

#include "core/automaton.h"
#include "core/str.h"

#include <stdlib.h>
#include <string.h>

enum sl_status sl_paths_copy(const struct sl_phrasebook *book, struct sl_paths *paths,
                             struct sl_error *error)
{
    struct sl_paths made = {
        .phases = calloc(book->n_phrases + 1, sizeof(*made.phases)),
        .settings = calloc(book->n_phrases + 1, sizeof(*made.settings)),
    };
    if (made.phases == NULL || made.settings == NULL ||
        sl_graph_copy(&book->graph, &made.graph, NULL) != SL_OK) {
        sl_paths_clear(&made);
        return sl_fail_memory(error);
    }
    for (size_t i = 0; i < book->n_phrases; i++) {
        made.phases[i] = book->phrases[i].phase;
        made.settings[i] = book->phrases[i].settings;
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
    sl_graph_clear(&paths->graph);
    free(paths->phases);
    free(paths->settings);
    *paths = (struct sl_paths){0};
}

/* Finds the arcs of the `n` words of one phrase, the last of which is segment `last`. */
static bool trace_phrase(const struct sl_graph *graph, struct sl_segments *segments, size_t last,
                         size_t n)
{
    size_t *words = calloc(2 * n, sizeof *words);
    if (words == NULL) {
        return false;
    }
    size_t *arcs = words + n;
    size_t left = n;
    for (size_t i = last; left > 0; i--) {
        if (segments->items[i].kind == SL_SEGMENT_WORD) {
            words[--left] = segments->items[i].word;
        }
    }
    bool found = sl_graph_trace(graph, words, n, segments->items[last].ends, arcs);
    left = found ? n : 0;
    for (size_t i = last; left > 0; i--) {
        if (segments->items[i].kind == SL_SEGMENT_WORD) {
            segments->items[i].arc = arcs[--left];
        }
    }
    free(words);
    return found;
}

/* Finds the arc of each word of the best path of a grammar of this graph. SL_NO_MEMORY only. */
static enum sl_status trace(const struct sl_graph *graph, struct sl_segments *segments,
                            struct sl_error *error)
{
    bool traced = true;
    size_t n = 0; /* words of the phrase that goes on */
    size_t last = 0;
    for (size_t i = 0; i <= segments->count && traced; i++) {
        enum sl_segment_kind kind = i < segments->count ? segments->items[i].kind : SL_SEGMENT_GAP;
        if (kind == SL_SEGMENT_WORD) {
            n++;
            last = i;
        }
        bool over = kind == SL_SEGMENT_PHONE || kind == SL_SEGMENT_GAP ||
                    (kind == SL_SEGMENT_WORD && segments->items[i].ends);
        if (over && n > 0) {
            traced = trace_phrase(graph, segments, last, n);
            n = 0;
        }
    }
    return traced ? SL_OK : sl_fail_memory(error);
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

enum sl_status sl_spans_gather(const struct sl_paths *paths, struct sl_segments *segments,
                               struct sl_spans *spans, struct sl_error *error)
{
    sl_spans_clear(spans);
    struct sl_span *span = NULL; /* the phrase that goes on */
    enum sl_status status = trace(&paths->graph, segments, error);
    for (size_t i = 0; i < segments->count && status == SL_OK; i++) {
        const struct sl_segment *segment = &segments->items[i];
        if (segment->kind == SL_SEGMENT_PHONE || segment->kind == SL_SEGMENT_GAP) {
            span = NULL;
        }
        if (segment->kind != SL_SEGMENT_WORD) {
            continue;
        }
        const struct sl_arc *arc = &paths->graph.arcs[segment->arc];
        if (span == NULL) {
            span = begin(spans, paths, arc->phrase);
        }
        if (span == NULL || !extend(span, arc, segments, i)) {
            return sl_fail_memory(error);
        }
        span = segment->ends ? NULL : span;
    }
    return status;
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
