#include "sound/echo_delay.h"

#include "sound/echo.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* At a quarter of the rate: exact enough, and a sixteenth of the work. */
#define STEP 4
#define BLOCK 40            /* SL_ECHO_BLOCK / STEP */
#define LAGS 2800           /* SL_ECHO_DELAY_MOST / STEP */
#define MEMORY_BLOCKS 300.0 /* what lies so many blocks back counts 1/e */
#define LEAST_BLOCKS 100    /* of sound played, before anything is said */
#define LEAST_POWER 900.0   /* of the slope at a quarter of the rate: a soft voice has more */
#define NEAR_LAGS 20        /* 5 ms: the peak's own slopes and first reflections */
#define OVER_NEXT 1.4       /* the peak against the highest elsewhere */
#define OVER_MEAN 6.0       /* the peak against the mean height */
/* The peak against that of two signals that are the same. Measured: two voices that talk at once
 * reach 0.07, an echo 20 dB below a learner who never pauses 0.1 to 0.28. */
#define LEAST_LIKENESS 0.1

_Static_assert(BLOCK *STEP == SL_ECHO_BLOCK && LAGS * STEP == SL_ECHO_DELAY_MOST, "whole steps");

struct sl_echo_delay {
    float played[LAGS + BLOCK]; /* oldest first */
    float likeness[LAGS];
    float last_mic, last_played; /* for the slope */
    size_t n_active;
    double mic_power;
    double mic_energy, played_energy; /* that went into the likeness */
};

enum sl_status sl_echo_delay_new(struct sl_echo_delay **delay, struct sl_error *error)
{
    struct sl_echo_delay *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    *delay = made;
    return SL_OK;
}

void sl_echo_delay_free(struct sl_echo_delay *delay)
{
    free(delay);
}

/* A quarter of the rate, and the slope of it, which evens out a voice's spectrum; returns the mean
 * power. */
static double shrink(const int16_t *frames, float *last, float *out)
{
    double power = 0;
    for (size_t i = 0; i < BLOCK; i++) {
        int sum = 0;
        for (size_t k = 0; k < STEP; k++) {
            sum += frames[i * STEP + k];
        }
        float mean = (float)sum / STEP;
        out[i] = mean - *last;
        *last = mean;
        power += (double)out[i] * out[i];
    }
    return power / BLOCK;
}

/* Adds one frame of the microphone against every earlier frame played. */
static void add_frame(struct sl_echo_delay *delay, float mic, const float *newest)
{
    float *likeness = delay->likeness;
    for (size_t lag = 0; lag < LAGS; lag++) {
        likeness[lag] += mic * newest[-(ptrdiff_t)lag];
    }
}

void sl_echo_delay_add(struct sl_echo_delay *delay, const int16_t *mic, const int16_t *reference)
{
    float heard[BLOCK];
    memmove(delay->played, delay->played + BLOCK, LAGS * sizeof *delay->played);
    double played_power = shrink(reference, &delay->last_played, delay->played + LAGS);
    double power = shrink(mic, &delay->last_mic, heard);
    delay->mic_power += (power - delay->mic_power) / 10;
    delay->n_active += played_power > LEAST_POWER;
    if (delay->n_active == 0) {
        return;
    }
    /* Loud moments, the learner's own words among them, count no more than soft ones. */
    float scale = (float)(1 / sqrt(fmax(power, delay->mic_power) + 1));
    float fade = (float)(1 - 1 / MEMORY_BLOCKS);
    delay->mic_energy = delay->mic_energy * fade + power * BLOCK * scale * scale;
    delay->played_energy = delay->played_energy * fade + played_power * BLOCK;
    for (size_t lag = 0; lag < LAGS; lag++) {
        delay->likeness[lag] *= fade;
    }
    for (size_t i = 0; i < BLOCK; i++) {
        add_frame(delay, heard[i] * scale, delay->played + LAGS + i);
    }
}

bool sl_echo_delay_find(const struct sl_echo_delay *delay, size_t *frames)
{
    if (delay->n_active < LEAST_BLOCKS) {
        return false;
    }
    size_t peak = 0;
    double mean = 0;
    for (size_t lag = 0; lag < LAGS; lag++) {
        mean += fabsf(delay->likeness[lag]) / LAGS;
        peak = fabsf(delay->likeness[lag]) > fabsf(delay->likeness[peak]) ? lag : peak;
    }
    double next = 0;
    for (size_t lag = 0; lag < LAGS; lag++) {
        if (lag + NEAR_LAGS < peak || lag > peak + NEAR_LAGS) {
            next = fmax(next, fabsf(delay->likeness[lag]));
        }
    }
    double height = fabsf(delay->likeness[peak]);
    double same = sqrt(delay->mic_energy * delay->played_energy);
    if (!(height > OVER_NEXT * next && height > OVER_MEAN * mean &&
          height > LEAST_LIKENESS * same)) {
        return false;
    }
    *frames = peak * STEP;
    return true;
}
