#include "sound/echo_copy.h"

#include "sound/echo.h"

#include <math.h>

#define LAGS SL_ECHO_COPY_LAGS
#define MARGIN 4           /* a delay so near to the ends is outside */
#define SPAN_BLOCKS 25     /* judged over a quarter of a second of cues */
#define SURE 3             /* judgements running */
#define LEAST_POWER 1000.0 /* -60 dB of full scale: a block that is part of a cue */
/* The correlation coefficient. Measured: at least 0.992 through two changes of rate, at most 0.974
 * in a room whose reflections lie 10 dB below the straight way. */
#define LEAST_ALIKE 0.985
#define LEAST_GAIN 0.5
#define MOST_GAIN 2.0

static void begin(struct sl_echo_copy *copy)
{
    size_t first = copy->first;
    unsigned n_alike = copy->n_alike;
    *copy = (struct sl_echo_copy){.first = first, .expected = true, .n_alike = n_alike};
}

void sl_echo_copy_expect(struct sl_echo_copy *copy, size_t delay, size_t most)
{
    bool inside =
        copy->expected && delay >= copy->first + MARGIN && delay + MARGIN < copy->first + LAGS;
    size_t first = delay > LAGS / 2 ? delay - LAGS / 2 : 0;
    first = first + LAGS - 1 > most ? most - (LAGS - 1) : first;
    if (inside || (copy->expected && first == copy->first)) {
        return;
    }
    copy->first = first;
    copy->n_alike = 0;
    begin(copy);
}

/* The height between the lags of a peak, by the parabola through three of them: sound that went
 * through a change of rate is late by a part of a frame. */
static double peak_height(const double *at)
{
    double bend = at[-1] - 2 * at[0] + at[1];
    double slope = at[1] - at[-1];
    return bend < 0 ? at[0] - slope * slope / (8 * bend) : at[0];
}

static bool is_alike(const struct sl_echo_copy *copy)
{
    size_t peak = 1;
    for (size_t lag = 1; lag + 1 < LAGS; lag++) {
        peak = copy->products[lag] > copy->products[peak] ? lag : peak;
    }
    double product = peak_height(copy->products + peak);
    double played = copy->played[peak];
    double gain = product / played;
    return product >= LEAST_ALIKE * sqrt(played * copy->mic) && gain >= LEAST_GAIN &&
           gain <= MOST_GAIN;
}

static double energy_of(const int16_t *frames)
{
    double sum = 0;
    for (size_t i = 0; i < SL_ECHO_BLOCK; i++) {
        sum += (double)frames[i] * frames[i];
    }
    return sum;
}

void sl_echo_copy_add(struct sl_echo_copy *copy, const int16_t *mic, const int16_t *played)
{
    const int16_t *latest = played - copy->first;
    if (!copy->expected || energy_of(latest - LAGS / 2) < LEAST_POWER * SL_ECHO_BLOCK) {
        return;
    }
    for (size_t lag = 0; lag < LAGS; lag++) {
        const int16_t *at = latest - lag;
        for (size_t i = 0; i < SL_ECHO_BLOCK; i++) {
            copy->products[lag] += (double)at[i] * mic[i];
        }
        copy->played[lag] += energy_of(at);
    }
    copy->mic += energy_of(mic);
    if (++copy->n_blocks == SPAN_BLOCKS) {
        copy->n_alike = is_alike(copy) ? copy->n_alike + 1 : 0;
        begin(copy);
    }
}

bool sl_echo_copy_is_sure(const struct sl_echo_copy *copy)
{
    return copy->n_alike >= SURE;
}
