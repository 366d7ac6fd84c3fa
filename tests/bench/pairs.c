#include "bench/pairs.h"

#include "core/units.h"

#include <math.h>

#define UNSAID 0
#define OTHER (-1)

const char *bench_pair_name(enum bench_pair pair)
{
    static const char *const names[] = {"left/right mirror", "left/right signal",
                                        "first/second gear", "up/down clutch",
                                        "five/ten/fifteen mph"};
    return names[pair];
}

static int mirror_value(const struct sl_settings *settings)
{
    int value = UNSAID;
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        if (settings->mirrors[i] != SL_MIRROR_INTERIOR) {
            value = value == UNSAID ? (int)settings->mirrors[i] : OTHER;
        }
    }
    return value;
}

static int speed_value(const struct sl_settings *settings)
{
    if (settings->speed_mps <= 0) {
        return UNSAID;
    }
    long mph = lround(sl_mph_from_mps(settings->speed_mps));
    return mph == 5 || mph == 10 || mph == 15 ? (int)mph : OTHER;
}

/* The value that a pair has in these settings: UNSAID, OTHER, or one of the pair's. */
static int value_of(enum bench_pair pair, const struct sl_settings *settings)
{
    switch (pair) {
    case BENCH_PAIR_MIRROR:
        return mirror_value(settings);
    case BENCH_PAIR_SIGNAL:
        return settings->signal == SL_SIGNAL_NONE ? OTHER : (int)settings->signal;
    case BENCH_PAIR_GEAR:
        return settings->gear > 2 ? OTHER : settings->gear;
    case BENCH_PAIR_CLUTCH:
        return (int)settings->clutch;
    default:
        return speed_value(settings);
    }
}

void bench_pairs_count(const struct sl_settings *said, const struct sl_settings *heard,
                       struct bench_pair_counts counts[BENCH_PAIR_COUNT])
{
    for (int pair = 0; pair < BENCH_PAIR_COUNT; pair++) {
        int wanted = value_of((enum bench_pair)pair, said);
        int got = value_of((enum bench_pair)pair, heard);
        if (wanted == UNSAID || wanted == OTHER) {
            continue;
        }
        counts[pair].said++;
        counts[pair].right += got == wanted ? 1 : 0;
        counts[pair].unheard += got == UNSAID ? 1 : 0;
        counts[pair].other += got == OTHER ? 1 : 0;
        counts[pair].twin += got > UNSAID && got != wanted ? 1 : 0;
    }
}
