#include "sound/line.h"

#include "sound/clock.h"
#include "sound/resampler.h"
#include "sound/ring.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#define IN_ROOM_S 8  /* how long the user may be busy elsewhere before sound is lost */
#define OUT_ROOM_S 1 /* how far ahead sound may be written */
#define STALLED_S 1.0
#define FIRST_STALLED_S 3.0 /* devices take their time to begin */
#define WAIT_STEP_S 0.004
#define SKIPPED_STAMPS 4 /* the first of a stream are the least exact */
#define STAMPS 32        /* their median is the offset */
#define LONGEST_OFFSET_S 5
#define CHUNK 1024
/* The change of rate may give this many frames more than the ratio says. */
#define SLACK 64

struct sl_line {
    double rate_hz, ratio; /* of the device; our rate / its rate */
    struct sl_ring *in, *out, *stamps;
    /* Written by the callback, read by the user. */
    atomic_uint_fast64_t frames, starved, lost;
    atomic_uint interruptions;
    atomic_bool finished;
    /* The callback's own: frames to be made up for, so that numbers stay right. */
    size_t in_missing, out_missing;
    /* The user's own. */
    bool started, stopped;
    struct sl_resampler *from_device, *to_device; /* NULL: the device runs at our rate */
    struct sl_ring *ready;                        /* captured frames at our rate */
    uint64_t seen_frames;
    double seen_at_s;
    unsigned seen_interruptions;
    double offsets[STAMPS];
    size_t n_offsets, n_skipped;
    double offset_s;
    bool offset_known;
};

static enum sl_status make_parts(struct sl_line *line, struct sl_error *error)
{
    size_t second = (size_t)line->rate_hz;
    enum sl_status status = sl_ring_new(second * IN_ROOM_S, sizeof(int16_t), &line->in, error);
    if (status == SL_OK) {
        status = sl_ring_new(second * OUT_ROOM_S, sizeof(int16_t), &line->out, error);
    }
    if (status == SL_OK) {
        status = sl_ring_new((size_t)2 * STAMPS, sizeof(double), &line->stamps, error);
    }
    if (status != SL_OK || line->ratio == 1) {
        return status;
    }
    status =
        sl_ring_new((size_t)IN_ROOM_S * SL_SOUND_RATE_HZ, sizeof(int16_t), &line->ready, error);
    if (status == SL_OK) {
        status = sl_resampler_new(line->rate_hz, SL_SOUND_RATE_HZ, &line->from_device, error);
    }
    if (status == SL_OK) {
        status = sl_resampler_new(SL_SOUND_RATE_HZ, line->rate_hz, &line->to_device, error);
    }
    return status;
}

enum sl_status sl_line_new(double rate_hz, struct sl_line **line, struct sl_error *error)
{
    if (!(rate_hz >= 8000 && rate_hz <= 384000)) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, "choose another device",
                       "a device at %g Hz cannot be used", rate_hz);
    }
    struct sl_line *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->rate_hz = rate_hz;
    made->ratio = SL_SOUND_RATE_HZ / rate_hz;
    enum sl_status status = make_parts(made, error);
    if (status != SL_OK) {
        sl_line_free(made);
        return status;
    }
    *line = made;
    return SL_OK;
}

void sl_line_free(struct sl_line *line)
{
    if (line != NULL) {
        sl_ring_free(line->in);
        sl_ring_free(line->out);
        sl_ring_free(line->stamps);
        sl_ring_free(line->ready);
        sl_resampler_free(line->from_device);
        sl_resampler_free(line->to_device);
        free(line);
    }
}

/* The callback's half. Only the callback writes these counters, so a load and a store do. */

static void add(atomic_uint_fast64_t *counter, size_t n)
{
    if (n > 0) {
        atomic_store_explicit(counter, atomic_load_explicit(counter, memory_order_relaxed) + n,
                              memory_order_relaxed);
    }
}

static void take_in(struct sl_line *line, const int16_t *in, size_t n)
{
    size_t fitted = 0;
    if (sl_ring_writable(line->in) >= line->in_missing) {
        sl_ring_write(line->in, NULL, line->in_missing);
        line->in_missing = 0;
        fitted = sl_ring_write(line->in, in, n);
    }
    line->in_missing += n - fitted;
    add(&line->lost, n - fitted);
}

static void give_out(struct sl_line *line, int16_t *out, size_t n)
{
    line->out_missing -= sl_ring_read(line->out, NULL, line->out_missing);
    size_t given = line->out_missing == 0 ? sl_ring_read(line->out, out, n) : 0;
    memset(out + given, 0, (n - given) * sizeof *out);
    line->out_missing += n - given;
    add(&line->starved, n - given);
}

void sl_line_exchange(struct sl_line *line, const struct sl_exchange *exchange)
{
    take_in(line, exchange->in, exchange->n);
    give_out(line, exchange->out, exchange->n);
    if (exchange->interrupted) {
        atomic_fetch_add_explicit(&line->interruptions, 1, memory_order_relaxed);
    }
    if (exchange->offset_s > 0 && exchange->offset_s < LONGEST_OFFSET_S) {
        sl_ring_write(line->stamps, &exchange->offset_s, 1);
    }
    atomic_fetch_add_explicit(&line->frames, exchange->n, memory_order_release);
}

void sl_line_finish(struct sl_line *line)
{
    atomic_store_explicit(&line->finished, true, memory_order_release);
}

/* The user's half. */

void sl_line_start(struct sl_line *line)
{
    line->started = true;
    line->seen_at_s = sl_clock_s();
}

void sl_line_again(struct sl_line *line)
{
    atomic_store_explicit(&line->finished, false, memory_order_release);
    line->seen_at_s = sl_clock_s();
}

void sl_line_stop(struct sl_line *line)
{
    line->stopped = true;
}

/* Moves what was captured through the change of rate, as far as there is room. */
static struct sl_ring *captured_ring(struct sl_line *line)
{
    if (line->ready == NULL) {
        return line->in;
    }
    int16_t in[CHUNK];
    int16_t out[CHUNK];
    size_t most = (size_t)((CHUNK - SLACK) / (line->ratio > 1 ? line->ratio : 1));
    while (sl_ring_writable(line->ready) >= CHUNK) {
        size_t n = sl_ring_read(line->in, in, most);
        if (n == 0) {
            break;
        }
        struct sl_resampling frames = {.in = in, .n_in = n, .out = out, .room = CHUNK};
        sl_ring_write(line->ready, out, sl_resampler_run(line->from_device, &frames));
    }
    return line->ready;
}

size_t sl_line_read(struct sl_line *line, int16_t *frames, size_t room)
{
    return sl_ring_read(captured_ring(line), frames, room);
}

size_t sl_line_writable(struct sl_line *line)
{
    size_t room = sl_ring_writable(line->out);
    if (line->to_device == NULL) {
        return room;
    }
    size_t ours = (size_t)((double)room * line->ratio);
    return ours > SLACK ? ours - SLACK : 0;
}

size_t sl_line_write(struct sl_line *line, const int16_t *frames, size_t n)
{
    size_t room = sl_line_writable(line);
    n = n < room ? n : room;
    if (line->to_device == NULL) {
        return sl_ring_write(line->out, frames, n);
    }
    struct sl_resampling part = {.in = frames, .n_in = n};
    size_t done = 0;
    do {
        int16_t out[CHUNK];
        part.out = out;
        part.room = CHUNK;
        done = sl_resampler_run(line->to_device, &part);
        sl_ring_write(line->out, out, done);
    } while (done == CHUNK);
    return n - part.n_in;
}

static int compare_doubles(const void *left, const void *right)
{
    double a = *(const double *)left;
    double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* Takes in what the callback noted of the offset; begins anew where sound was interrupted. */
static void follow_offset(struct sl_line *line, unsigned interruptions)
{
    double stamp = 0;
    if (interruptions != line->seen_interruptions) {
        line->seen_interruptions = interruptions;
        line->n_offsets = 0;
        line->n_skipped = 0;
    }
    while (sl_ring_read(line->stamps, &stamp, 1) == 1) {
        if (line->n_skipped < SKIPPED_STAMPS) {
            line->n_skipped++;
        } else if (line->n_offsets < STAMPS) {
            line->offsets[line->n_offsets++] = stamp;
            if (line->n_offsets == STAMPS) {
                qsort(line->offsets, STAMPS, sizeof *line->offsets, compare_doubles);
                line->offset_s = line->offsets[STAMPS / 2];
                line->offset_known = true;
            }
        }
    }
}

static enum sl_endpoint_state state_of(struct sl_line *line, uint64_t frames)
{
    if (line->stopped) {
        return SL_ENDPOINT_STOPPED;
    }
    if (!line->started) {
        return SL_ENDPOINT_READY;
    }
    if (atomic_load_explicit(&line->finished, memory_order_acquire)) {
        return SL_ENDPOINT_GONE;
    }
    double now_s = sl_clock_s();
    if (frames != line->seen_frames) {
        line->seen_frames = frames;
        line->seen_at_s = now_s;
    }
    double patience_s = frames == 0 ? FIRST_STALLED_S : STALLED_S;
    return now_s - line->seen_at_s > patience_s ? SL_ENDPOINT_STALLED : SL_ENDPOINT_RUNNING;
}

static uint64_t to_ours(const struct sl_line *line, uint64_t device_frames)
{
    return line->ratio == 1 ? device_frames : (uint64_t)((double)device_frames * line->ratio);
}

struct sl_endpoint_facts sl_line_facts(struct sl_line *line)
{
    uint64_t frames = atomic_load_explicit(&line->frames, memory_order_acquire);
    unsigned interruptions = atomic_load_explicit(&line->interruptions, memory_order_relaxed);
    follow_offset(line, interruptions);
    uint64_t ours = to_ours(line, frames);
    return (struct sl_endpoint_facts){
        .state = state_of(line, frames),
        .captured = ours,
        .played = ours,
        .starved = to_ours(line, atomic_load_explicit(&line->starved, memory_order_relaxed)),
        .lost = to_ours(line, atomic_load_explicit(&line->lost, memory_order_relaxed)),
        .xruns = interruptions,
        .offset_s = line->offset_s,
        .offset_known = line->offset_known,
    };
}

static bool may_come(struct sl_line *line)
{
    return line->started && !line->stopped &&
           !atomic_load_explicit(&line->finished, memory_order_acquire);
}

size_t sl_line_wait(struct sl_line *line, size_t n, double timeout_s)
{
    double end_s = sl_clock_s() + timeout_s;
    size_t readable = sl_ring_readable(captured_ring(line));
    while (readable < n && may_come(line) && sl_clock_s() < end_s) {
        sl_clock_sleep_s(WAIT_STEP_S);
        readable = sl_ring_readable(captured_ring(line));
    }
    return readable;
}
