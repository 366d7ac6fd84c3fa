#include "core/car_sound.h"

#include "core/random.h"
#include "core/units.h"

#include <math.h>

#define STEP_S (1.0 / SL_CAR_SOUND_RATE_HZ)
#define TURNS_PER_CYCLE 2.0

/* Levels and colours: ours, no source. */
#define ENGINE_LEVEL 0.0022 /* root mean square while it pulls */
#define IDLE_SHARE 0.7      /* of that while it does not */
#define FADES_BELOW_RPM 400.0
#define DULL 0.78 /* r while it does not pull */
#define BRIGHTER 0.07
#define JUDDER_DEPTH 0.7
#define ROAD_LEVEL 0.009 /* of the noise at ROAD_FULL_MPS */
#define ROAD_FULL_MPS 15.0
#define ROAD_SOFT_HZ 500.0
#define TICK_LEVEL 0.008
#define TICK_FADE_S 0.003
#define TICK_HZ 2200.0
#define TOCK_HZ 1700.0
#define NOTE_LEVEL 0.0035
#define NOTE_HZ 1320.0
#define NOTE_S 0.1
#define LONG_AGO_S 1e3

void sl_car_sound_start(struct sl_car_sound *sound)
{
    *sound = (struct sl_car_sound){
        .indicated_s = -1.0, .tick_s = LONG_AGO_S, .tick_hz = TICK_HZ, .note_s = LONG_AGO_S};
}

double sl_car_sound_hz(double engine_rpm)
{
    return engine_rpm / 60.0 * SL_CAR_SOUND_CYLINDERS / 2.0;
}

static void glide(double *value, double to)
{
    *value += (to - *value) * (STEP_S / SL_CAR_SOUND_GLIDE_S);
}

static double engine(struct sl_car_sound *sound)
{
    sound->turns = fmod(sound->turns + sound->rpm / 60.0 * STEP_S, TURNS_PER_CYCLE);
    double phase = 2.0 * SL_PI * sound->turns * SL_CAR_SOUND_CYLINDERS / 2.0;
    double r = DULL + BRIGHTER * sound->pull;
    double sum = r * sin(phase) / (1.0 - 2.0 * r * cos(phase) + r * r);
    double even = sqrt(2.0 * (1.0 - r * r)) / r; /* brings the sum's root mean square to 1 */
    double beat = 0.5 - 0.5 * cos(2.0 * SL_PI * sound->turns / TURNS_PER_CYCLE);
    double level = ENGINE_LEVEL * (IDLE_SHARE + (1.0 - IDLE_SHARE) * sound->pull) *
                   fmin(sound->rpm / FADES_BELOW_RPM, 1.0) *
                   (1.0 - JUDDER_DEPTH * sound->judder * beat);
    return level * even * sum;
}

static double road(struct sl_car_sound *sound)
{
    double white = (double)(sl_random_next(&sound->chance) >> 11U) / 4503599627370496.0 - 1.0;
    sound->noise += (white - sound->noise) * (1.0 - exp(-2.0 * SL_PI * ROAD_SOFT_HZ * STEP_S));
    return ROAD_LEVEL * fmin(sound->speed_mps / ROAD_FULL_MPS, 1.0) * sound->noise;
}

static double indicator(struct sl_car_sound *sound, bool indicates)
{
    const double half_s = 30.0 / SL_CAR_SOUND_FLASHES_PER_MIN;
    if (indicates) {
        double before_s = sound->indicated_s;
        sound->indicated_s = before_s < 0.0 ? 0.0 : before_s + STEP_S;
        double halves = floor(sound->indicated_s / half_s);
        if (before_s < 0.0 || halves > floor(before_s / half_s)) {
            sound->tick_s = 0.0;
            sound->tick_hz = fmod(halves, 2.0) < 1.0 ? TICK_HZ : TOCK_HZ;
        }
    } else {
        sound->indicated_s = -1.0;
    }
    double tick = TICK_LEVEL * exp(-sound->tick_s / TICK_FADE_S) *
                  sin(2.0 * SL_PI * sound->tick_hz * sound->tick_s);
    sound->tick_s = fmin(sound->tick_s + STEP_S, LONG_AGO_S);
    return tick;
}

static double note(struct sl_car_sound *sound)
{
    if (sound->note_s >= NOTE_S) {
        return 0.0;
    }
    double at_s = sound->note_s;
    sound->note_s += STEP_S;
    return NOTE_LEVEL * (0.5 - 0.5 * cos(2.0 * SL_PI * at_s / NOTE_S)) *
           sin(2.0 * SL_PI * NOTE_HZ * at_s);
}

double sl_car_sound_next(struct sl_car_sound *sound, const struct sl_car_heard *heard)
{
    glide(&sound->rpm, heard->engine_rpm);
    glide(&sound->speed_mps, heard->speed_mps);
    glide(&sound->pull, heard->pulls ? 1.0 : 0.0);
    glide(&sound->judder, heard->judders ? 1.0 : 0.0);
    return engine(sound) + road(sound) + indicator(sound, heard->indicates) + note(sound);
}

void sl_car_sound_mirrors(struct sl_car_sound *sound)
{
    sound->note_s = sound->note_s < NOTE_S ? sound->note_s : 0.0;
}
