/*
 * A corpus of runs for choosing settings or judging them, with a manifest (runs.tsv).
 */
#ifndef CORPUS_RUNS_H
#define CORPUS_RUNS_H

#include "microphone.h"
#include "room.h"
#include "voice.h"

#include <stdint.h>

#define CORPUS_ANY (-1)        /* drawn for each run */
#define CORPUS_ROOM_USUAL (-2) /* near in three of ten runs, otherwise dry */

struct corpus_order {
    const char *folder;  /* exists */
    const char *routine; /* name */
    struct corpus_speakers speakers;
    struct corpus_voice voice; /* the one who speaks; `base` NULL: drawn for each run */
    size_t count;
    uint64_t start; /* of the random numbers; the same start gives the same runs */
    int noise;      /* enum corpus_noise; CORPUS_ANY: car, fan or babble */
    double snr_db;
    int room;       /* enum corpus_room, CORPUS_ANY or CORPUS_ROOM_USUAL */
    int microphone; /* enum corpus_microphone or CORPUS_ANY */
    bool timed;
    size_t most_faults; /* in a run */
    double off_topic_chance;
    double hesitation_chance, restart_chance, outside_share; /* of corpus_manner */
    double book_share; /* of steps worded from the phrasebook, the rest from our own lists */
};

enum sl_status corpus_runs_make(const struct corpus_order *order, struct sl_error *error);

#endif
