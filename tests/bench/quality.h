/*
 * How well sayline hears and marks, side by side with PocketSphinx as it comes, on the same
 * recordings. All systems are marked by the real marking code; sayline goes the whole way of
 * `sayline mark` (practice/mark_recording.h).
 */
#ifndef BENCH_QUALITY_H
#define BENCH_QUALITY_H

#include "bench/faults.h"
#include "bench/reliability.h"
#include "bench/score.h"
#include "bench/stock.h"

#include "speech/recogniser.h"

#include <stdbool.h>
#include <stdio.h>

enum bench_system {
    BENCH_SAYLINE,
    BENCH_PLAIN,    /* PocketSphinx's language model, as its programs hear a file */
    BENCH_MODEL,    /* the same, helped */
    BENCH_KEYWORDS, /* PocketSphinx's keyword mode, helped */
    BENCH_SYSTEMS
};

/* "sayline", "stock", "stock helped", "stock keywords" */
const char *bench_system_name(enum bench_system system);

/* The ears. Initialise with bench_ears_open; release with bench_ears_close. */
struct bench_ears {
    struct sl_routine routine;
    struct sl_recogniser *recogniser;
    struct bench_stock *stock[BENCH_SYSTEMS]; /* [BENCH_SAYLINE] is not used */
    bool on[BENCH_SYSTEMS];
    FILE *list; /* differences of sayline; NULL: nowhere */
};

/* `on` says which systems are wanted. */
enum sl_status bench_ears_open(const char *routine, const bool on[BENCH_SYSTEMS],
                               struct bench_ears *ears, struct sl_error *error);
void bench_ears_close(struct bench_ears *ears);

struct bench_outcome {
    struct bench_tally tally;
    struct bench_faults faults;
};

/* Labelled recordings of one kind. Initialise with {0}; release with bench_condition_clear. */
struct bench_condition {
    char *name;
    struct bench_outcome outcomes[BENCH_SYSTEMS];
    struct bench_reliability reliability; /* of sayline's phrases */
    size_t warned; /* recordings of which the mark says that the sound may hide words */
};

/* Hears the recording of a label file with all that is on. */
enum sl_status bench_condition_hear(struct bench_ears *ears, const char *labels_path,
                                    struct bench_condition *condition, struct sl_error *error);
void bench_condition_clear(struct bench_condition *condition);

/* Speech in which nothing of the routine is said. */
struct bench_talk {
    char *name;
    double sound_s;
    size_t phrases[BENCH_SYSTEMS]; /* heard clearly: all are false */
    double cpu_s[BENCH_SYSTEMS];
};

/* Hears the sounds (.wav, .raw) of a folder, one after the other with half a second of silence
 * between, cut where a minute is full. */
enum sl_status bench_talk_hear(struct bench_ears *ears, const char *folder, struct bench_talk *talk,
                               struct sl_error *error);

#endif
