/*
 * Changing the rate of a stream of 16-bit frames (libsamplerate). Frame k comes out as frame
 * k * to / from: the stream is not shifted, only held back a little.
 */
#ifndef SL_SOUND_RESAMPLER_H
#define SL_SOUND_RESAMPLER_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

struct sl_resampler;

/* SL_UNSUPPORTED for a ratio that the library does not take (1/256 to 256). */
enum sl_status sl_resampler_new(double from_hz, double to_hz, struct sl_resampler **resampler,
                                struct sl_error *error);

/* NULL is fine. */
void sl_resampler_free(struct sl_resampler *resampler);

/* Frames on their way in and out; sl_resampler_run moves both on. */
struct sl_resampling {
    const int16_t *in;
    size_t n_in;
    int16_t *out;
    size_t room;
};

/* Converts until `in` is used up and all that is ready is put out, or `out` is full; returns how
 * many frames were put out. */
size_t sl_resampler_run(struct sl_resampler *resampler, struct sl_resampling *frames);

#endif
