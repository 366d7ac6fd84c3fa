#include "core/envelope.h"

#include "core/str.h"

#include <math.h>
#include <stdlib.h>

#define FULL_SCALE 32768.0

enum sl_status sl_envelope_add(struct sl_envelope *envelope, const int16_t *samples,
                               size_t n_samples, struct sl_error *error)
{
    for (size_t i = 0; i < n_samples; i++) {
        if (envelope->n_peaks == 0 || envelope->filled == envelope->stretch) {
            double *peaks = sl_grow(envelope->peaks, envelope->n_peaks, &envelope->room,
                                    sizeof *envelope->peaks);
            if (peaks == NULL) {
                return sl_fail_memory(error);
            }
            envelope->peaks = peaks;
            envelope->peaks[envelope->n_peaks++] = 0.0;
            envelope->filled = 0;
        }
        double *peak = &envelope->peaks[envelope->n_peaks - 1];
        *peak = fmax(*peak, fabs((double)samples[i]) / FULL_SCALE);
        envelope->filled++;
    }
    return SL_OK;
}

double sl_envelope_at_s(const struct sl_envelope *envelope, size_t peak)
{
    return (double)peak * (double)envelope->stretch / envelope->rate_hz;
}

void sl_envelope_clear(struct sl_envelope *envelope)
{
    free(envelope->peaks);
    *envelope = (struct sl_envelope){0};
}
