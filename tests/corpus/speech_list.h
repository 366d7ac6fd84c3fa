/*
 * The pieces of speech of one run, in the order in which they are said.
 */
#ifndef CORPUS_SPEECH_LIST_H
#define CORPUS_SPEECH_LIST_H

#include "scene.h"
#include "steps.h"
#include "take.h"

#define CORPUS_NO_STEP ((size_t)-1)

struct corpus_piece {
    const char *what; /* phase or kind, as in labels */
    char *text;
    struct sl_settings settings;
    struct corpus_sound sound;
    size_t step;  /* index into the steps; CORPUS_NO_STEP for off-topic talk */
    bool first;   /* the step's own words begin with it */
    double gap_s; /* before it, at least */
    double at_s;  /* wanted start on the practice clock; NAN: any */
    size_t onset; /* sample at which it starts, once placed */
};

/* Initialise with {0}; release with corpus_pieces_clear. */
struct corpus_pieces {
    struct corpus_piece *items;
    size_t n, room;
    size_t n_lead; /* this many come before the junction is announced */
};

/* Words and sound for the whole run. */
enum sl_status corpus_pieces_speak(struct corpus_rng *rng, const struct corpus_run *run,
                                   struct corpus_pieces *pieces, struct sl_error *error);

void corpus_pieces_clear(struct corpus_pieces *pieces);

#endif
