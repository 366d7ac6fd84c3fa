/*
 * What lies between an audio callback and the thread that uses an endpoint: rings, counters, the
 * change of rate, the watch over the device. No device library is known here, so that all of it is
 * tested without one.
 */
#ifndef SL_SOUND_LINE_H
#define SL_SOUND_LINE_H

#include "sound/endpoint.h"

struct sl_line;

/* A line for a device that runs at `rate_hz` (8000 to 384000, else SL_UNSUPPORTED). */
enum sl_status sl_line_new(double rate_hz, struct sl_line **line, struct sl_error *error);

/* Only once no callback comes any more. NULL is fine. */
void sl_line_free(struct sl_line *line);

/* One call of an audio callback: `n` frames at the device's rate in each direction. */
struct sl_exchange {
    const int16_t *in; /* NULL: the device has none, read as silence */
    int16_t *out;      /* filled by sl_line_exchange */
    size_t n;
    double offset_s;  /* by the device's stamps, from playing to capturing; 0: it has none */
    bool interrupted; /* the device lost sound before this */
};

/* Callback thread. Neither allocates, locks nor waits. */
void sl_line_exchange(struct sl_line *line, const struct sl_exchange *exchange);

/* Any thread: the device will call no more. Before sl_line_stop: it is gone. */
void sl_line_finish(struct sl_line *line);

/* The rest is the user's thread, as in endpoint.h. */
void sl_line_start(struct sl_line *line);

/* The device is started again after it had finished: it is not gone. */
void sl_line_again(struct sl_line *line);

void sl_line_stop(struct sl_line *line);
size_t sl_line_read(struct sl_line *line, int16_t *frames, size_t room);
size_t sl_line_writable(struct sl_line *line);
size_t sl_line_write(struct sl_line *line, const int16_t *frames, size_t n);
struct sl_endpoint_facts sl_line_facts(struct sl_line *line);
size_t sl_line_wait(struct sl_line *line, size_t n, double timeout_s);

#endif
