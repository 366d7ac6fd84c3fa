/*
 * A device on the rig, run as a rehearsal runs it: what to play is known beforehand, what comes in
 * is kept. Include after cmocka.h.
 */
#ifndef SL_TESTS_RIG_RUN_H
#define SL_TESTS_RIG_RUN_H

#include "sound/clock.h"
#include "sound/device.h"

#include "core/str.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define RIG_AHEAD 4800
#define RIG_RATE SL_SOUND_RATE_HZ

/* A run of an endpoint: what to play, what came in. */
struct rig_run {
    struct sl_endpoint endpoint;
    int16_t *play, *heard;
    size_t n_play, n_written, n_heard, room;
};

static inline void rig_open(struct rig_run *run, const struct sl_device_choice *choice,
                            size_t seconds)
{
    struct sl_error error = {0};
    *run = (struct rig_run){.n_play = seconds * RIG_RATE, .room = (seconds + 5) * RIG_RATE};
    if (sl_device_open(choice, &run->endpoint, &error) != SL_OK) {
        fail_msg("%s", error.what);
    }
    run->play = calloc(run->n_play, sizeof *run->play);
    run->heard = calloc(run->room, sizeof *run->heard);
    assert_true(run->play != NULL && run->heard != NULL);
}

static inline void rig_close(struct rig_run *run)
{
    sl_endpoint_close(&run->endpoint);
    free(run->play);
    free(run->heard);
}

/* One turn of the loop as a rehearsal has it: wait, read, keep a little written ahead. */
static inline struct sl_endpoint_facts rig_turn(struct rig_run *run)
{
    sl_endpoint_wait(&run->endpoint, 160, 0.05);
    run->n_heard +=
        sl_endpoint_read(&run->endpoint, run->heard + run->n_heard, run->room - run->n_heard);
    struct sl_endpoint_facts facts = sl_endpoint_facts(&run->endpoint);
    size_t upto = (size_t)facts.played + RIG_AHEAD;
    upto = upto < run->n_play ? upto : run->n_play;
    if (run->n_written < upto) {
        run->n_written +=
            sl_endpoint_write(&run->endpoint, run->play + run->n_written, upto - run->n_written);
    }
    return facts;
}

static inline void rig_start(struct rig_run *run)
{
    run->n_written = sl_endpoint_write(&run->endpoint, run->play,
                                       RIG_AHEAD < run->n_play ? RIG_AHEAD : run->n_play);
    struct sl_error error = {0};
    if (sl_endpoint_start(&run->endpoint, &error) != SL_OK) {
        fail_msg("%s", error.what);
    }
}

/* Runs until `frames` were captured; fails when the device does not keep up. */
static inline struct sl_endpoint_facts rig_run_until(struct rig_run *run, size_t frames)
{
    struct sl_endpoint_facts facts = rig_turn(run);
    double until_s = sl_clock_s() + (double)frames / RIG_RATE + 5;
    while (facts.captured < frames && sl_clock_s() < until_s) {
        facts = rig_turn(run);
    }
    assert_true(facts.captured >= frames);
    return facts;
}

static inline void rig_shell(const char *format, ...)
{
    struct sl_str line = {0};
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&line, format, args);
    va_end(args);
    int code = system(sl_str_text(&line)); /* NOLINT(cert-env33-c): a test of its own rig */
    sl_str_clear(&line);
    assert_int_equal(code, 0);
}

#endif
