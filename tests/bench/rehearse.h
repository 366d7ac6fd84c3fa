/*
 * Rehearsing with labelled recordings as the learner, faster than real time: cues from a simulated
 * speaker leak into a simulated microphone, and the run goes the way of a live one (canceller,
 * live ear, recording, mark).
 */
#ifndef BENCH_REHEARSE_H
#define BENCH_REHEARSE_H

#include "bench/delays.h"
#include "bench/score.h"

#include "practice/rehearsal.h"
#include "speech/listener.h"
#include "support/temp_folder.h"

/* How a run is made. */
struct bench_condition {
    enum sl_prompting prompting;
    double leak;    /* factor on the speaker's sound in the microphone; 0: a headset */
    double delay_s; /* from playing to hearing it */
    bool silent;    /* the learner says nothing */
    bool deaf;      /* nobody listens live */
    bool driven;    /* the words drive a car, whose sound waits for the ear, so that it is no later
                       than in real time; the delays are those of its sound */
};

/* What came of the runs of one condition. Initialise with {0}; release with bench_runs_clear. */
struct bench_runs {
    struct bench_tally mark, live;
    struct bench_delays delays; /* of the live ear */
    size_t half_duplex;         /* runs that ended so */
    size_t differing;           /* runs that the program marked otherwise from the file */
};

struct bench_rehearse {
    struct sl_routine routine;
    struct sl_car car;
    char *pronunciations;
    struct sl_recogniser *recogniser;
    struct sl_cue_voice *voice;
    struct temp_folder folder;
    const char *program; /* `sayline`, which marks each recording again; NULL: none does */
    const char *keep;    /* where recordings stay; NULL: nowhere */
    FILE *list;          /* differences; NULL: nowhere */
};

enum sl_status bench_rehearse_start(struct bench_rehearse *bench, struct sl_error *error);

/* Makes one run with the recording of a label file and adds it to `runs`. */
enum sl_status bench_rehearse_run(struct bench_rehearse *bench, const char *label_file,
                                  const struct bench_condition *condition, struct bench_runs *runs,
                                  struct sl_error *error);

void bench_runs_clear(struct bench_runs *runs);
void bench_rehearse_clear(struct bench_rehearse *bench);

#endif
