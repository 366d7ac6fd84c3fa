/*
 * Sound as the practice engine sees it: a microphone and a speaker on one clock, reached through a
 * small table of functions. Three makers: sound/device.h (real devices), sound/endpoint_file.h (a
 * recording in place of the microphone, in real time), sound/endpoint_simulated.h (fast, for
 * tests).
 *
 * Clock. Sound is mono, 16 bit, SL_SOUND_RATE_HZ. Captured frames and played frames are numbered
 * from 0 at the start; number k of both is handled at the same instant by the computer. The k-th
 * frame written is played as number k and the k-th frame read was captured as number k, whatever
 * happens: frames written too late are skipped (`starved` counts them), frames that nobody fetched
 * for so long that they were lost are read as silence (`lost`). What is played as number k comes
 * back into the microphone as number k + offset_s * SL_SOUND_RATE_HZ.
 *
 * Threads. All functions of an endpoint are called from one thread (or one at a time). None but
 * start, stop, wait and close takes more time than the copying.
 */
#ifndef SL_SOUND_ENDPOINT_H
#define SL_SOUND_ENDPOINT_H

#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_SOUND_RATE_HZ 16000

enum sl_endpoint_state {
    SL_ENDPOINT_READY,   /* opened, not started (frames may be written ahead already) */
    SL_ENDPOINT_RUNNING, /* frames flow */
    SL_ENDPOINT_STALLED, /* no frame for a second, the device says nothing; it may come back */
    SL_ENDPOINT_ENDED,   /* the recording in place of a microphone is at its end; silence follows */
    SL_ENDPOINT_GONE,    /* the device went away; what was captured can still be read */
    SL_ENDPOINT_STOPPED
};

/* "ready", "running", "stalled", "ended", "gone", "stopped"; never NULL. */
const char *sl_endpoint_state_name(enum sl_endpoint_state state);

/* How things stand. Counts are in frames of SL_SOUND_RATE_HZ since the start. */
struct sl_endpoint_facts {
    enum sl_endpoint_state state;
    uint64_t captured; /* passed the microphone, read or not */
    uint64_t played;   /* handed to the speaker, written or not */
    uint64_t starved;  /* of these, played as silence because nothing was written in time */
    uint64_t lost;     /* of the captured, read as silence because they were fetched too late */
    unsigned xruns;    /* how often the device itself lost sound: the offset may have jumped */
    double offset_s;   /* from playing to capturing, 0 until known; at best good to 10 ms */
    bool offset_known;
};

struct sl_endpoint_functions {
    /* Lets the frames flow. SL_DEVICE when the device refuses. Once only. */
    enum sl_status (*start)(void *self, struct sl_error *error);
    /* Copies up to `room` of the captured frames not read yet; returns how many, 0: none now. */
    size_t (*read)(void *self, int16_t *frames, size_t room);
    /* How many frames can be written now; there is room for about a second in all. */
    size_t (*writable)(void *self);
    /* Takes up to `n` frames to be played next; returns how many it took. */
    size_t (*write)(void *self, const int16_t *frames, size_t n);
    struct sl_endpoint_facts (*facts)(void *self);
    /* Sleeps until `n` frames can be read or `timeout_s` has passed, or no more will come; returns
     * how many can be read. */
    size_t (*wait)(void *self, size_t n, double timeout_s);
    /* Stops at once; what was captured can still be read. Fine before the start and twice. */
    void (*stop)(void *self);
    /* Stops and releases `self`. */
    void (*close)(void *self);
};

/* An endpoint by value; initialise with {0}. Its maker fills it; sl_endpoint_close releases it. */
struct sl_endpoint {
    const struct sl_endpoint_functions *functions;
    void *self;
};

/* The functions of the table, called on an open endpoint. */
enum sl_status sl_endpoint_start(struct sl_endpoint *endpoint, struct sl_error *error);
size_t sl_endpoint_read(struct sl_endpoint *endpoint, int16_t *frames, size_t room);
size_t sl_endpoint_writable(struct sl_endpoint *endpoint);
size_t sl_endpoint_write(struct sl_endpoint *endpoint, const int16_t *frames, size_t n);
struct sl_endpoint_facts sl_endpoint_facts(struct sl_endpoint *endpoint);
size_t sl_endpoint_wait(struct sl_endpoint *endpoint, size_t n, double timeout_s);
void sl_endpoint_stop(struct sl_endpoint *endpoint);

/* Releases the endpoint and resets it to {0}. NULL and {0} are fine. */
void sl_endpoint_close(struct sl_endpoint *endpoint);

#endif
