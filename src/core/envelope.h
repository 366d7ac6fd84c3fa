/*
 * The envelope of a sound: the loudest sample of each short stretch, for drawing.
 */
#ifndef SL_CORE_ENVELOPE_H
#define SL_CORE_ENVELOPE_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

/* Set `stretch` and `rate_hz`, leave the rest 0; release with sl_envelope_clear. */
struct sl_envelope {
    int rate_hz;    /* samples a second, more than 0 */
    size_t stretch; /* samples a peak stands for, at least 1 */
    double *peaks;  /* 0 to 1 of full scale; the last may stand for a shorter stretch */
    size_t n_peaks;
    size_t room;
    size_t filled; /* samples of the last peak so far */
};

/* Adds samples at the end. SL_NO_MEMORY. */
enum sl_status sl_envelope_add(struct sl_envelope *envelope, const int16_t *samples,
                               size_t n_samples, struct sl_error *error);

/* When a peak's stretch begins, in seconds from the first sample. */
double sl_envelope_at_s(const struct sl_envelope *envelope, size_t peak);

void sl_envelope_clear(struct sl_envelope *envelope);

#endif
