/*
 * Measuring the listener: how soon after a phrase was said it is settled, counted in samples that
 * were fed, and how well it hears against the recogniser that has the whole recording.
 */
#ifndef BENCH_LIVE_H
#define BENCH_LIVE_H

#include "bench/delays.h"
#include "bench/score.h"

#include "speech/listener.h"
#include "speech/recogniser.h"

/* Initialise with bench_live_start; release with bench_live_clear. */
struct bench_live {
    struct sl_routine routine;
    char *pronunciations;
    struct sl_recogniser *recogniser;
    struct sl_listener *listener; /* new for each recording */
    bool warm; /* each recording is heard before, for the start values of its voice */
    struct bench_tally whole, live;
    struct bench_delays delays;
};

/* `warm` false: listeners know nothing of the voice beforehand. */
enum sl_status bench_live_start(struct bench_live *bench, const char *routine, bool warm,
                                struct sl_error *error);

/* Hears the recording of a label file both ways. */
enum sl_status bench_live_hear(struct bench_live *bench, const char *label_file,
                               struct sl_error *error);

void bench_live_clear(struct bench_live *bench);

#endif
