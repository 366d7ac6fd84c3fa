#include "sound/endpoint_simulated.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define AHEAD_FRAMES SL_SOUND_RATE_HZ
#define RATE ((double)SL_SOUND_RATE_HZ)

struct simulated {
    struct sl_simulation plan;
    int16_t *played; /* by its number; the first `written` hold, what came too late is silence */
    size_t room, written;
    uint64_t now, read, late;
    uint64_t stall_left; /* frames' worth of time still to stand still */
    bool started, stopped, stalled, gone;
};

static enum sl_status start(void *self, struct sl_error *error)
{
    struct simulated *simulated = self;
    (void)error;
    simulated->started = true;
    return SL_OK;
}

/* What of the speaker reaches the microphone's place as number `at` of the speaker's clock. */
static double echo_at(const struct simulated *simulated, int64_t at)
{
    const struct sl_simulation *plan = &simulated->plan;
    static const double bare[] = {1};
    const double *room = plan->room == NULL ? bare : plan->room;
    size_t n_room = plan->room == NULL ? 1 : plan->n_room;
    double sum = 0;
    for (size_t i = 0; i < n_room; i++) {
        int64_t from = at - (int64_t)i;
        if (from >= 0 && from < (int64_t)simulated->written) {
            sum += room[i] * simulated->played[from];
        }
    }
    return sum * plan->leak;
}

/* What leaks into captured frame `at`: between two numbers of the speaker's where the clocks
 * differ. */
static double leak_at(const struct simulated *simulated, uint64_t at)
{
    const struct sl_simulation *plan = &simulated->plan;
    double from = (double)at * (1 + plan->drift_ppm * 1e-6) - (double)plan->delay_frames;
    double whole = floor(from);
    double part = from - whole;
    double leak = (1 - part) * echo_at(simulated, (int64_t)whole);
    return part == 0 ? leak : leak + part * echo_at(simulated, (int64_t)whole + 1);
}

static int16_t capture(const struct simulated *simulated, uint64_t at)
{
    const struct sl_simulation *plan = &simulated->plan;
    double sample = plan->signal != NULL && at < plan->n_signal ? plan->signal[at] : 0;
    if (plan->leak != 0) {
        sample += leak_at(simulated, at);
    }
    return (int16_t)lrint(fmin(fmax(sample, INT16_MIN), INT16_MAX));
}

static size_t read_frames(void *self, int16_t *frames, size_t room)
{
    struct simulated *simulated = self;
    uint64_t there = simulated->now - simulated->read;
    size_t n = there < room ? (size_t)there : room;
    for (size_t i = 0; i < n; i++) {
        frames[i] = capture(simulated, simulated->read + i);
    }
    simulated->read += n;
    return n;
}

static size_t writable(void *self)
{
    const struct simulated *simulated = self;
    uint64_t most = simulated->now + AHEAD_FRAMES;
    return most > simulated->written ? (size_t)(most - simulated->written) : 0;
}

static bool make_room(struct simulated *simulated, size_t n)
{
    if (simulated->written + n <= simulated->room) {
        return true;
    }
    size_t room = 2 * (simulated->written + n);
    int16_t *larger = realloc(simulated->played, room * sizeof *larger);
    if (larger == NULL) {
        return false;
    }
    simulated->played = larger;
    simulated->room = room;
    return true;
}

static size_t write_frames(void *self, const int16_t *frames, size_t n)
{
    struct simulated *simulated = self;
    size_t room = writable(self);
    n = n < room ? n : room;
    if (!make_room(simulated, n)) {
        return 0;
    }
    for (size_t i = 0; i < n; i++, simulated->written++) {
        bool late = simulated->written < simulated->now;
        simulated->played[simulated->written] = (int16_t)(late ? 0 : frames[i]);
        simulated->late += late;
    }
    return n;
}

static enum sl_endpoint_state state_of(const struct simulated *simulated)
{
    if (simulated->stopped) {
        return SL_ENDPOINT_STOPPED;
    }
    if (!simulated->started) {
        return SL_ENDPOINT_READY;
    }
    if (simulated->gone) {
        return SL_ENDPOINT_GONE;
    }
    return simulated->stalled ? SL_ENDPOINT_STALLED : SL_ENDPOINT_RUNNING;
}

static struct sl_endpoint_facts facts(void *self)
{
    const struct simulated *simulated = self;
    uint64_t unwritten =
        simulated->now > simulated->written ? simulated->now - simulated->written : 0;
    return (struct sl_endpoint_facts){
        .state = state_of(simulated),
        .captured = simulated->now,
        .played = simulated->now,
        .starved = simulated->late + unwritten,
        .offset_s = (double)simulated->plan.delay_frames / RATE,
        .offset_known = true,
    };
}

/* Lets up to `n` frames of time pass; frames come unless the device stalls or is gone. */
static void pass(struct simulated *simulated, uint64_t n)
{
    const struct sl_simulation *plan = &simulated->plan;
    for (; n > 0 && !simulated->gone; n--) {
        simulated->stalled = simulated->stall_left > 0;
        if (simulated->stalled) {
            simulated->stall_left--;
            continue;
        }
        simulated->now++;
        simulated->gone = plan->gone_at > 0 && simulated->now == plan->gone_at;
        if (plan->stalls_at > 0 && simulated->now == plan->stalls_at) {
            simulated->stall_left = (uint64_t)(plan->stall_s * RATE);
        }
    }
}

static size_t wait_frames(void *self, size_t n, double timeout_s)
{
    struct simulated *simulated = self;
    uint64_t left = timeout_s > 0 ? (uint64_t)(timeout_s * RATE) : 0;
    bool flows = simulated->started && !simulated->stopped;
    while (flows && left > 0 && !simulated->gone && simulated->now - simulated->read < n) {
        uint64_t missing = n - (simulated->now - simulated->read);
        uint64_t step = missing < left ? missing : left;
        pass(simulated, step);
        left -= step;
    }
    return (size_t)(simulated->now - simulated->read);
}

static void stop(void *self)
{
    struct simulated *simulated = self;
    simulated->stopped = true;
}

static void close_simulated(void *self)
{
    struct simulated *simulated = self;
    free(simulated->played);
    free(simulated);
}

static const struct sl_endpoint_functions functions = {
    start, read_frames, writable, write_frames, facts, wait_frames, stop, close_simulated,
};

enum sl_status sl_endpoint_simulated_open(const struct sl_simulation *simulation,
                                          struct sl_endpoint *endpoint, struct sl_error *error)
{
    struct simulated *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->plan = *simulation;
    *endpoint = (struct sl_endpoint){.functions = &functions, .self = made};
    return SL_OK;
}

void sl_endpoint_simulated_played(struct sl_endpoint *endpoint, const int16_t **frames, size_t *n)
{
    const struct simulated *simulated = endpoint->self;
    *frames = simulated->played;
    *n = simulated->written < simulated->now ? simulated->written : (size_t)simulated->now;
}
