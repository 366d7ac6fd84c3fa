/*
 * What is heard in the car while it is driven: engine, road, indicator, a note for the mirrors.
 *
 * The engine fires cylinders / 2 times a turn, as four-stroke engines do (common practice, no
 * source): its pitch is rpm / 60 x cylinders / 2 Hz. Its sound is the sum of r^k sin(k x phase),
 * k = 1, 2, 3, ..., which has a closed form; r is larger, the sound brighter, while it pulls.
 * Phase, speed and level only ever glide (SL_CAR_SOUND_GLIDE_S), so that nothing clicks however the
 * car's speed jumps. An engine that judders beats once in two turns, its cycle; one that stalls
 * dies away. The road is noise whose level grows with the speed.
 *
 * All of it is as soft as the road tone (road_tone.h): no 10 ms of it reach
 * SL_CAR_SOUND_LOUDEST_DBFS, so that it is not taken for a cue where the microphone hears it.
 */
#ifndef SL_CORE_CAR_SOUND_H
#define SL_CORE_CAR_SOUND_H

#include <stdbool.h>
#include <stdint.h>

#define SL_CAR_SOUND_RATE_HZ 16000.0
#define SL_CAR_SOUND_CYLINDERS 4
#define SL_CAR_SOUND_LOUDEST_DBFS (-45.0) /* root mean square of 10 ms */
/* Two thirds of the way to another pitch or level. */
#define SL_CAR_SOUND_GLIDE_S 0.03
/* Flashes a minute: 90 +/- 30, UN Regulation 6 (from memory). A tick and a tock each. */
#define SL_CAR_SOUND_FLASHES_PER_MIN 90.0

/* The car as it is heard at one moment. */
struct sl_car_heard {
    double engine_rpm; /* 0 to 10000; 0: it stands still */
    double speed_mps;  /* 0 or more */
    bool pulls;        /* the foot is on the accelerator */
    bool judders;
    bool indicates;
};

/* Initialise with sl_car_sound_start; owns nothing. */
struct sl_car_sound {
    double turns;                        /* of the crankshaft, 0 to 2 */
    double rpm, speed_mps, pull, judder; /* as they glide */
    double noise;                        /* of the road, softened */
    uint64_t chance;
    double indicated_s;     /* since the indicator was set; negative: it is not */
    double tick_s, tick_hz; /* since the last tick or tock, and its pitch */
    double note_s;          /* since the mirrors' note began */
};

/* Silence; the engine comes in with the first samples. */
void sl_car_sound_start(struct sl_car_sound *sound);

/* The next sample, -1 to 1, 1 / SL_CAR_SOUND_RATE_HZ after the one before. */
double sl_car_sound_next(struct sl_car_sound *sound, const struct sl_car_heard *heard);

/* From the next sample on a short note says that the mirrors were understood; one that sounds
 * already goes on. */
void sl_car_sound_mirrors(struct sl_car_sound *sound);

/* The engine's pitch in Hz. */
double sl_car_sound_hz(double engine_rpm);

#endif
