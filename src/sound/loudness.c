#include "sound/loudness.h"

#include <ebur128.h>

#include <math.h>

#define LEAST_S 3.0

static enum sl_status check(const struct sl_frames *frames, struct sl_error *error)
{
    if (frames->n_frames == 0 || frames->channels < 1 || frames->channels > 2 ||
        frames->rate_hz < 8000 || frames->rate_hz > 192000) {
        return sl_fail(error, SL_INVALID, NULL,
                       "give one or two channels at 8000 to 192000 Hz with some sound in them",
                       "the loudness of %zu frames with %u channels at %u Hz cannot be measured",
                       frames->n_frames, frames->channels, frames->rate_hz);
    }
    return SL_OK;
}

static int add_all(ebur128_state *meter, const struct sl_frames *frames)
{
    double least = LEAST_S * frames->rate_hz;
    double added = 0;
    int failed = EBUR128_SUCCESS;
    do {
        failed = ebur128_add_frames_short(meter, frames->samples, frames->n_frames);
        added += (double)frames->n_frames;
    } while (failed == EBUR128_SUCCESS && added < least);
    return failed;
}

static int read_meter(ebur128_state *meter, unsigned channels, struct sl_loudness *loudness)
{
    double lufs = 0;
    double highest = 0;
    int failed = ebur128_loudness_global(meter, &lufs);
    for (unsigned channel = 0; channel < channels && failed == EBUR128_SUCCESS; channel++) {
        double peak = 0;
        failed = ebur128_true_peak(meter, channel, &peak);
        highest = fmax(highest, peak);
    }
    if (failed == EBUR128_SUCCESS) {
        loudness->integrated_lufs = lufs;
        loudness->true_peak_dbtp = highest > 0 ? 20 * log10(highest) : -INFINITY;
    }
    return failed;
}

enum sl_status sl_loudness_measure(const struct sl_frames *frames, struct sl_loudness *loudness,
                                   struct sl_error *error)
{
    enum sl_status status = check(frames, error);
    if (status != SL_OK) {
        return status;
    }
    ebur128_state *meter =
        ebur128_init(frames->channels, frames->rate_hz, EBUR128_MODE_I | EBUR128_MODE_TRUE_PEAK);
    if (meter == NULL) {
        return sl_fail_memory(error);
    }
    int failed = add_all(meter, frames);
    if (failed == EBUR128_SUCCESS) {
        failed = read_meter(meter, frames->channels, loudness);
    }
    ebur128_destroy(&meter);
    return failed == EBUR128_SUCCESS ? SL_OK : sl_fail_memory(error);
}
