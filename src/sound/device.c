#include "sound/device.h"

#include "sound/device_choice.h"
#include "sound/device_system.h"
#include "sound/hush.h"
#include "sound/line.h"

#include <stdlib.h>

#define MOST_CHANNELS 2
#define CHUNK 256
#define AGAIN_MOST 2
#define LOST_SOUND (paInputUnderflow | paInputOverflow | paOutputUnderflow | paOutputOverflow)

/* One open stream: the endpoint's `self`. */
struct stream {
    struct sl_line *line;
    struct sl_device_list devices;
    const struct sl_device *input, *output; /* of the list; input NULL: the speaker alone */
    PaStreamParameters in, out;
    double rate_hz;
    PaStream *pa;
    bool begun;   /* the sound system is held */
    bool flowing; /* the callback's own: sound comes in */
    int kept;     /* standard error, put aside */
    int n_again;  /* how often it was started again */
};

static const PaStreamParameters *in_of(const struct stream *stream)
{
    return stream->input == NULL ? NULL : &stream->in;
}

/* The device that messages are about. */
static const char *name_of(const struct stream *stream)
{
    return stream->input == NULL ? stream->output->name : stream->input->name;
}

/* Frames of more than one channel go through a short block on the stack. */
static void exchange_wide(struct stream *stream, const struct sl_exchange *whole)
{
    size_t n_in = (size_t)stream->in.channelCount;
    size_t n_out = (size_t)stream->out.channelCount;
    int16_t mono_in[CHUNK];
    int16_t mono_out[CHUNK];
    struct sl_exchange part = *whole;
    part.in = whole->in == NULL ? NULL : mono_in;
    part.out = mono_out;
    for (size_t at = 0; at < whole->n; at += part.n) {
        const int16_t *in = whole->in == NULL ? NULL : whole->in + at * n_in;
        int16_t *out = whole->out + at * n_out;
        part.n = whole->n - at < CHUNK ? whole->n - at : CHUNK;
        for (size_t i = 0; i < part.n && in != NULL; i++) {
            mono_in[i] = (int16_t)((in[i * n_in] + in[i * n_in + n_in - 1]) / 2);
        }
        sl_line_exchange(stream->line, &part);
        for (size_t i = 0; i < part.n * n_out; i++) {
            out[i] = mono_out[i / n_out];
        }
        part.interrupted = false;
        part.offset_s = 0;
    }
}

/* NOLINTNEXTLINE(readability-function-size): six parameters, as PortAudio asks. */
static int called_back(const void *in, void *out, unsigned long n,
                       const PaStreamCallbackTimeInfo *time, PaStreamCallbackFlags flags,
                       void *user)
{
    struct stream *stream = user;
    /* The first calls fill the speaker before the microphone gives anything: nothing is lost. */
    stream->flowing = stream->flowing || (flags & LOST_SOUND) == 0;
    struct sl_exchange exchange = {
        .in = in,
        .out = out,
        .n = n,
        .offset_s = in == NULL ? 0 : time->outputBufferDacTime - time->inputBufferAdcTime,
        .interrupted = stream->flowing && (flags & LOST_SOUND) != 0,
    };
    if (stream->in.channelCount == 1 && stream->out.channelCount == 1) {
        sl_line_exchange(stream->line, &exchange);
    } else {
        exchange_wide(stream, &exchange);
    }
    return paContinue;
}

static void called_last(void *user)
{
    struct stream *stream = user;
    sl_line_finish(stream->line);
}

static enum sl_status start(void *self, struct sl_error *error)
{
    struct stream *stream = self;
    sl_line_start(stream->line);
    PaError failure = Pa_StartStream(stream->pa);
    return failure == paNoError ? SL_OK : sl_device_fail(failure, name_of(stream), error);
}

static size_t read_frames(void *self, int16_t *frames, size_t room)
{
    return sl_line_read(((struct stream *)self)->line, frames, room);
}

static size_t writable(void *self)
{
    return sl_line_writable(((struct stream *)self)->line);
}

static size_t write_frames(void *self, const int16_t *frames, size_t n)
{
    return sl_line_write(((struct stream *)self)->line, frames, n);
}

/* A sound system now and then ends a stream at its very start (seen in one start of some thirty
 * through ALSA's plugin for PulseAudio); the next try goes well. */
static bool start_again(struct stream *stream, const struct sl_endpoint_facts *now)
{
    if (now->state != SL_ENDPOINT_GONE || now->captured >= SL_SOUND_RATE_HZ ||
        stream->n_again == AGAIN_MOST) {
        return false;
    }
    stream->n_again++;
    (void)Pa_AbortStream(stream->pa);
    sl_line_again(stream->line);
    if (Pa_StartStream(stream->pa) != paNoError) {
        sl_line_finish(stream->line);
        return false;
    }
    return true;
}

static struct sl_endpoint_facts facts(void *self)
{
    struct stream *stream = self;
    struct sl_endpoint_facts now = sl_line_facts(stream->line);
    return start_again(stream, &now) ? sl_line_facts(stream->line) : now;
}

static size_t wait_frames(void *self, size_t n, double timeout_s)
{
    return sl_line_wait(((struct stream *)self)->line, n, timeout_s);
}

static void stop(void *self)
{
    struct stream *stream = self;
    sl_line_stop(stream->line);
    if (stream->pa != NULL && Pa_IsStreamStopped(stream->pa) == 0) {
        (void)Pa_AbortStream(stream->pa);
    }
}

static void close_stream(void *self)
{
    struct stream *stream = self;
    if (stream->pa != NULL) {
        stop(stream);
        (void)Pa_CloseStream(stream->pa);
    }
    if (stream->begun) {
        (void)Pa_Terminate();
    }
    sl_hush_end(stream->kept);
    sl_line_free(stream->line);
    sl_device_list_clear(&stream->devices);
    free(stream);
}

static const struct sl_endpoint_functions functions = {
    start, read_frames, writable, write_frames, facts, wait_frames, stop, close_stream,
};

static bool try_rate(struct stream *stream, double rate_hz, PaError *failure)
{
    for (int channels = 0; channels < MOST_CHANNELS * MOST_CHANNELS; channels++) {
        stream->in.channelCount = 1 + channels / MOST_CHANNELS;
        stream->out.channelCount = 1 + channels % MOST_CHANNELS;
        PaError said = Pa_IsFormatSupported(in_of(stream), &stream->out, rate_hz);
        if (said == paFormatIsSupported) {
            stream->rate_hz = rate_hz;
            return true;
        }
        *failure = *failure == paNoError || said == paInvalidSampleRate ? said : *failure;
    }
    return false;
}

/* Our rate first, then the devices' own, then what most devices have. */
static enum sl_status find_format(struct stream *stream, struct sl_error *error)
{
    const struct sl_device *other = stream->input == NULL ? stream->output : stream->input;
    const double rates_hz[] = {SL_SOUND_RATE_HZ, stream->output->rate_hz, other->rate_hz, 48000,
                               44100};
    PaError failure = paNoError;
    bool found = false;
    for (size_t i = 0; i < sizeof rates_hz / sizeof *rates_hz && !found; i++) {
        found = try_rate(stream, rates_hz[i], &failure);
    }
    return found ? SL_OK : sl_device_fail(failure, name_of(stream), error);
}

static PaStreamParameters parameters(const struct sl_device *device, double latency_s)
{
    return (PaStreamParameters){.device = device->index,
                                .channelCount = 1,
                                .sampleFormat = paInt16,
                                .suggestedLatency = latency_s};
}

static enum sl_status open_pa(struct stream *stream, struct sl_error *error)
{
    PaError failure = Pa_OpenStream(&stream->pa, in_of(stream), &stream->out, stream->rate_hz,
                                    paFramesPerBufferUnspecified, paNoFlag, called_back, stream);
    if (failure == paNoError) {
        failure = Pa_SetStreamFinishedCallback(stream->pa, called_last);
    } else {
        stream->pa = NULL;
    }
    return failure == paNoError ? SL_OK : sl_device_fail(failure, name_of(stream), error);
}

static enum sl_status open_stream(const struct sl_device_choice *choice, struct stream *stream,
                                  struct sl_error *error)
{
    double latency_s = choice->latency_s == 0 ? SL_DEVICE_LATENCY_S : choice->latency_s;
    if (!(latency_s >= 0.05 && latency_s <= 1)) {
        return sl_fail(error, SL_INVALID, NULL, "choose 0.05 to 1 s",
                       "a latency of %g s does not work", latency_s);
    }
    enum sl_status status = sl_device_system_begin(error);
    if (status != SL_OK) {
        return status;
    }
    stream->begun = true;
    status = sl_device_list_fill(&stream->devices, error);
    if (status == SL_OK && !choice->speaker_only) {
        status =
            sl_device_find(&stream->devices, SL_DEVICE_INPUT, choice->input, &stream->input, error);
    }
    if (status == SL_OK) {
        status = sl_device_find(&stream->devices, SL_DEVICE_OUTPUT, choice->output, &stream->output,
                                error);
    }
    if (status != SL_OK) {
        return status;
    }
    if (stream->input != NULL) {
        stream->in = parameters(stream->input, latency_s);
    }
    stream->out = parameters(stream->output, latency_s);
    status = find_format(stream, error);
    if (status == SL_OK) {
        status = sl_line_new(stream->rate_hz, &stream->line, error);
    }
    return status == SL_OK ? open_pa(stream, error) : status;
}

enum sl_status sl_device_open(const struct sl_device_choice *choice, struct sl_endpoint *endpoint,
                              struct sl_error *error)
{
    struct stream *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->kept = sl_hush_begin();
    enum sl_status status = open_stream(choice, made, error);
    if (status != SL_OK) {
        close_stream(made);
        return status;
    }
    *endpoint = (struct sl_endpoint){.functions = &functions, .self = made};
    return SL_OK;
}

struct sl_device_report sl_device_describe(const struct sl_endpoint *endpoint)
{
    const struct stream *stream = endpoint->self;
    const PaStreamInfo *info = Pa_GetStreamInfo(stream->pa);
    return (struct sl_device_report){
        .input = stream->input == NULL ? NULL : stream->input->name,
        .output = stream->output->name,
        .rate_hz = stream->rate_hz,
        .in_latency_s = info == NULL ? 0 : info->inputLatency,
        .out_latency_s = info == NULL ? 0 : info->outputLatency,
        .one_device = stream->input == stream->output,
    };
}
