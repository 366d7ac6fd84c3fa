/*
 * A corpus of runs for choosing settings or judging them, with a manifest (runs.tsv).
 */
#ifndef CORPUS_RUNS_H
#define CORPUS_RUNS_H

#include "room.h"
#include "voice.h"

#include <stdint.h>

struct corpus_order {
    const char *folder;  /* exists */
    const char *routine; /* name */
    enum corpus_split split;
    size_t count;
    uint64_t start; /* of the random numbers; the same start gives the same runs */
    enum corpus_noise noise;
    bool any_noise; /* car or fan, drawn for each run */
    double snr_db;
    bool timed;
    size_t most_faults; /* in a run */
    double off_topic_chance;
    double book_share; /* of steps worded from the phrasebook, the rest from our own lists */
};

enum sl_status corpus_runs_make(const struct corpus_order *order, struct sl_error *error);

#endif
