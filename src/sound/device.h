/*
 * Real microphones and speakers (PortAudio; no other file knows it), as one full-duplex stream.
 *
 * Sound libraries print to standard error as they please, in threads of their own too. So as long
 * as a device is open, or the list is being made, what the whole process prints to standard error
 * is thrown away: say what there is to say on standard output, or after sl_endpoint_close.
 */
#ifndef SL_SOUND_DEVICE_H
#define SL_SOUND_DEVICE_H

#include "sound/endpoint.h"

/* What the sound system calls one device. */
struct sl_device {
    int index; /* good until devices come or go */
    char *name;
    char *host; /* the sound system it belongs to */
    int in_channels, out_channels;
    double rate_hz; /* its default */
    bool default_input, default_output;
};

/* Initialise with {0}; release with sl_device_list_clear. */
struct sl_device_list {
    struct sl_device *items;
    size_t n;
};

/* All devices; none is no error. SL_DEVICE when the sound system does not answer. */
enum sl_status sl_device_list_get(struct sl_device_list *list, struct sl_error *error);
void sl_device_list_clear(struct sl_device_list *list);

/* Which devices, and how; {0} means the defaults. */
struct sl_device_choice {
    /* A number of the list, a whole name, or a part of it that only one device has (letters of
     * either case); NULL: the sound system's default. */
    const char *input, *output;
    bool speaker_only; /* no microphone is opened, and none need be there: silence is captured */
    double latency_s;  /* asked of each direction, 0.05 to 1; 0: SL_DEVICE_LATENCY_S */
};

/* On two processors with a load of 18, one minute: no interruption at 0.2 s, 21 at 0.1 s. */
#define SL_DEVICE_LATENCY_S 0.2

/* For sound that answers what is heard. With four busy loops on two processors, 25 s: no
 * interruption.
 */
#define SL_DEVICE_SOON_S 0.06

/*
 * Opens microphone and speaker at SL_SOUND_RATE_HZ or, where the device cannot, at its own rate
 * with conversion. Sound flows from sl_endpoint_start. Errors: SL_DEVICE (no device, busy, lost,
 * no microphone or no speaker among them), SL_NOT_FOUND (no device of that name), SL_INVALID (a
 * name that several have, a latency out of range), SL_UNSUPPORTED (no common rate or channels).
 * One device is open at a time; a list may be made meanwhile.
 */
enum sl_status sl_device_open(const struct sl_device_choice *choice, struct sl_endpoint *endpoint,
                              struct sl_error *error);

/* What was opened. The names are valid as long as the endpoint is open; no microphone, no input. */
struct sl_device_report {
    const char *input, *output;
    double rate_hz;                     /* of the device */
    double in_latency_s, out_latency_s; /* as the device says; 0: no microphone */
    bool one_device; /* input and output are one device, so probably on one clock */
};

struct sl_device_report sl_device_describe(const struct sl_endpoint *endpoint);

#endif
