/*
 * A short sweep through the speech band, and finding it again: its place in a recording is known to
 * a sample, whatever its level.
 */
#ifndef SL_TESTS_SWEEP_H
#define SL_TESTS_SWEEP_H

#include <math.h>
#include <stddef.h>
#include <stdint.h>

#define SWEEP_RATE_HZ 16000
#define SWEEP_FRAMES 1600

/* Adds a sweep from 400 to 4000 Hz of peak `level` at `frames`; SWEEP_FRAMES must follow. */
static inline void sweep_add(int16_t *frames, double level)
{
    const double pi = 3.14159265358979323846;
    for (size_t i = 0; i < SWEEP_FRAMES; i++) {
        double t = (double)i / SWEEP_RATE_HZ;
        double end = (double)SWEEP_FRAMES / SWEEP_RATE_HZ;
        double fade = sin(pi * t / end);
        double phase = 2 * pi * (400 * t + (4000 - 400) * t * t / (2 * end));
        frames[i] = (int16_t)(frames[i] + lrint(level * fade * sin(phase)));
    }
}

/* How much the sound at `frames` is like the sweep: 0 (not at all) to 1 (nothing else). */
static inline double sweep_likeness(const int16_t *frames, const int16_t *sweep)
{
    int64_t cross = 0;
    int64_t energy = 1;
    int64_t own = 1;
    for (size_t i = 0; i < SWEEP_FRAMES; i++) {
        cross += frames[i] * sweep[i];
        energy += frames[i] * frames[i];
        own += sweep[i] * sweep[i];
    }
    return (double)cross / sqrt((double)energy * (double)own);
}

/* The place in [from, to) where a sweep begins, -1 when nothing there is like one. */
static inline long sweep_find(const int16_t *frames, size_t n, size_t from, size_t to)
{
    int16_t sweep[SWEEP_FRAMES] = {0};
    sweep_add(sweep, 10000);
    long best = -1;
    double most = 0.5;
    for (size_t at = from; at < to && at + SWEEP_FRAMES <= n; at++) {
        double likeness = sweep_likeness(frames + at, sweep);
        if (likeness > most) {
            most = likeness;
            best = (long)at;
        }
    }
    return best;
}

#endif
