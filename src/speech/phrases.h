/*
 * From the words of the best path to phrases: which arcs belong together, what they name, what
 * they say.
 */
#ifndef SL_SPEECH_PHRASES_H
#define SL_SPEECH_PHRASES_H

#include "core/phrasebook.h"
#include "core/status.h"
#include "speech/decoder.h"

#include <stdbool.h>
#include <stddef.h>

/* What is kept of a phrasebook; independent of it. Initialise with {0}. */
struct sl_paths {
    struct sl_graph graph;
    size_t *phases;               /* by phrase */
    struct sl_settings *settings; /* by phrase */
};

/* Copies a compiled phrasebook. Replaces what was there. */
enum sl_status sl_paths_copy(const struct sl_phrasebook *book, struct sl_paths *paths,
                             struct sl_error *error);

/* NULL is fine. */
void sl_paths_clear(struct sl_paths *paths);

/* A phrase on the best path. */
struct sl_span {
    size_t phase;
    struct sl_settings settings;
    char *text;                       /* owned */
    size_t n_words;                   /* at least 1 */
    size_t start_frame, end_frame;    /* of its words; end exclusive */
    size_t longest_pause;             /* frames of silence between two of its words, the longest */
    size_t first_segment, n_segments; /* of the best path, pauses between words among them */
};

/* Initialise with {0}; release with sl_spans_clear. */
struct sl_spans {
    struct sl_span *items;
    size_t count;
    size_t room;
};

/* Gathers the word segments, whose arcs it finds, into phrases, in order of time. Replaces *spans.
 */
enum sl_status sl_spans_gather(const struct sl_paths *paths, struct sl_segments *segments,
                               struct sl_spans *spans, struct sl_error *error);

/* NULL is fine. */
void sl_spans_clear(struct sl_spans *spans);

#endif
