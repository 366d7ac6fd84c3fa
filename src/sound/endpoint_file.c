#include "sound/endpoint_file.h"

#include "sound/clock.h"
#include "sound/sound_reader.h"

#include <stdlib.h>
#include <string.h>

#define AHEAD_FRAMES SL_SOUND_RATE_HZ /* how far ahead frames may be written */
#define RATE ((double)SL_SOUND_RATE_HZ)

struct file_source {
    struct sl_sound_reader *reader;
    uint64_t length;
    uint64_t begins_at; /* the captured frame that is the file's first */
    uint64_t read, written;
    uint64_t late; /* of the written, those that came after their time */
    double started_s, stopped_s;
    bool started, stopped, ended;
};

/* Frames that have passed so far. */
static uint64_t passed(const struct file_source *source)
{
    if (!source->started) {
        return 0;
    }
    double until_s = source->stopped ? source->stopped_s : sl_clock_s();
    return (uint64_t)((until_s - source->started_s) * RATE);
}

static enum sl_status start(void *self, struct sl_error *error)
{
    struct file_source *source = self;
    (void)error;
    source->started = true;
    source->started_s = sl_clock_s();
    return SL_OK;
}

/* Fills `n` frames from the file, with silence behind its end. */
static void read_file(struct file_source *source, int16_t *frames, size_t n)
{
    size_t done = 0;
    while (done < n && !source->ended) {
        size_t got = 0;
        enum sl_status status = sl_sound_read(source->reader, frames + done, n - done, &got, NULL);
        source->ended = status != SL_OK || got == 0;
        done += source->ended ? 0 : got;
    }
    memset(frames + done, 0, (n - done) * sizeof *frames);
}

static size_t read_frames(void *self, int16_t *frames, size_t room)
{
    struct file_source *source = self;
    uint64_t there = passed(source) - source->read;
    size_t n = there < room ? (size_t)there : room;
    uint64_t before = source->begins_at > source->read ? source->begins_at - source->read : 0;
    size_t silent = before < n ? (size_t)before : n;
    memset(frames, 0, silent * sizeof *frames);
    read_file(source, frames + silent, n - silent);
    source->read += n;
    return n;
}

static size_t writable(void *self)
{
    const struct file_source *source = self;
    uint64_t most = passed(source) + AHEAD_FRAMES;
    return most > source->written ? (size_t)(most - source->written) : 0;
}

static size_t write_frames(void *self, const int16_t *frames, size_t n)
{
    (void)frames; /* silent */
    struct file_source *source = self;
    size_t room = writable(self);
    uint64_t now = passed(source);
    uint64_t late = now > source->written ? now - source->written : 0;
    n = n < room ? n : room;
    source->late += late < n ? late : n;
    source->written += n;
    return n;
}

static enum sl_endpoint_state state_of(const struct file_source *source)
{
    if (source->stopped) {
        return SL_ENDPOINT_STOPPED;
    }
    if (!source->started) {
        return SL_ENDPOINT_READY;
    }
    return source->ended ? SL_ENDPOINT_ENDED : SL_ENDPOINT_RUNNING;
}

static struct sl_endpoint_facts facts(void *self)
{
    const struct file_source *source = self;
    uint64_t now = passed(source);
    uint64_t unwritten = now > source->written ? now - source->written : 0;
    return (struct sl_endpoint_facts){
        .state = state_of(source),
        .captured = now,
        .played = now,
        .starved = source->late + unwritten,
        .offset_known = true,
    };
}

static size_t wait_frames(void *self, size_t n, double timeout_s)
{
    const struct file_source *source = self;
    uint64_t there = passed(source) - source->read;
    if (there < n && source->started && !source->stopped) {
        double needed_s = (double)(n - there) / RATE;
        sl_clock_sleep_s(needed_s < timeout_s ? needed_s : timeout_s);
        there = passed(source) - source->read;
    }
    return (size_t)there;
}

static void stop(void *self)
{
    struct file_source *source = self;
    if (!source->stopped) {
        source->stopped_s = sl_clock_s();
        source->stopped = true;
    }
}

static void close_file(void *self)
{
    struct file_source *source = self;
    sl_sound_close(source->reader);
    free(source);
}

static const struct sl_endpoint_functions functions = {
    start, read_frames, writable, write_frames, facts, wait_frames, stop, close_file,
};

enum sl_status sl_endpoint_file_open(const char *path, struct sl_endpoint *endpoint,
                                     struct sl_error *error)
{
    struct file_source *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_sound_open(path, SL_SOUND_RATE_HZ, &made->reader, error);
    if (status != SL_OK) {
        free(made);
        return status;
    }
    made->length = (uint64_t)(sl_sound_duration_s(made->reader) * RATE);
    *endpoint = (struct sl_endpoint){.functions = &functions, .self = made};
    return SL_OK;
}

bool sl_endpoint_file_begin_at(struct sl_endpoint *endpoint, uint64_t frame)
{
    struct file_source *source = endpoint->self;
    if (source->read > frame || source->read > source->begins_at) {
        return false;
    }
    source->begins_at = frame;
    return true;
}

uint64_t sl_endpoint_file_length(const struct sl_endpoint *endpoint)
{
    const struct file_source *source = endpoint->self;
    return source->length;
}
