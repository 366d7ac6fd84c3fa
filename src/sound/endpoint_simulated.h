/*
 * A simulated microphone and speaker for tests: time passes only in sl_endpoint_wait, as fast as
 * the program can. The microphone gives a signal and, where asked, what leaks in from the speaker.
 */
#ifndef SL_SOUND_ENDPOINT_SIMULATED_H
#define SL_SOUND_ENDPOINT_SIMULATED_H

#include "sound/endpoint.h"

/* What is simulated; {0}: a silent room without a leak, for ever. Arrays are the caller's and must
 * outlive the endpoint. Frames are numbered as in endpoint.h. */
struct sl_simulation {
    const int16_t *signal; /* what the microphone hears from captured frame 0; silence after it */
    size_t n_signal;
    double leak;         /* factor on the speaker's sound in the microphone; 0.1 is -20 dB */
    size_t delay_frames; /* from playing to capturing; reported as the offset */
    const double *room;  /* impulse response on top of the delay, factor `leak` on it; NULL: {1} */
    size_t n_room;
    double drift_ppm;   /* by how much the speaker's clock runs fast */
    uint64_t stalls_at; /* captured frame at which frames stop for `stall_s`; 0: never */
    double stall_s;
    uint64_t gone_at; /* captured frame at which the device is unplugged; 0: never */
};

enum sl_status sl_endpoint_simulated_open(const struct sl_simulation *simulation,
                                          struct sl_endpoint *endpoint, struct sl_error *error);

/* Everything played so far, silence where nothing was written in time; *frames is valid until the
 * next call on the endpoint. */
void sl_endpoint_simulated_played(struct sl_endpoint *endpoint, const int16_t **frames, size_t *n);

#endif
