/*
 * Tones for the tests of sound: making them, and measuring one in what was read.
 */
#ifndef TESTS_SOUND_TONES_H
#define TESTS_SOUND_TONES_H

#include "core/units.h"

#include <math.h>
#include <stddef.h>
#include <stdint.h>

static inline double tone_at(double hz, double rate_hz, size_t i)
{
    return sin(2 * SL_PI * hz * (double)i / rate_hz);
}

/* Amplitude (0 to 1) of `hz` in the samples: the sum over a whole number of periods against sine
 * and cosine (a single bin of the discrete Fourier transform). */
static inline double tone_amplitude(const int16_t *samples, size_t n, double hz, double rate_hz)
{
    double s = 0;
    double c = 0;
    for (size_t i = 0; i < n; i++) {
        s += samples[i] / 32768.0 * tone_at(hz, rate_hz, i);
        c += samples[i] / 32768.0 * cos(2 * SL_PI * hz * (double)i / rate_hz);
    }
    return 2 * sqrt(s * s + c * c) / (double)n;
}

#endif
