/*
 * The road tone: a soft tone whose pitch follows the planned speed, so that slowing is heard.
 */
#ifndef SL_CORE_ROAD_TONE_H
#define SL_CORE_ROAD_TONE_H

#include "core/plan.h"

/* Pitch = SL_ROAD_TONE_BASE_HZ + SL_ROAD_TONE_HZ_PER_MPS x speed: 320 Hz at 10 mph, 520 Hz at
 * 30 mph, where small speakers still sound. Ours, no source. */
#define SL_ROAD_TONE_BASE_HZ 220.0
#define SL_ROAD_TONE_HZ_PER_MPS (10.0 / 0.44704)

/* Amplitude: a sine of this has -46 dBFS (root mean square), more than 20 dB below the cues. */
#define SL_ROAD_TONE_AMPLITUDE 0.007

/* Fades in from time 0 and out to the line, this long. */
#define SL_ROAD_TONE_FADE_S 0.3

/*
 * The tone's value (-1 to 1) at a time on the plan's clock; 0 before the announcement's end and
 * after the line. A pure function of the time: the phase is the integral of the pitch, which is
 * base x time + factor x metres driven, so that it is continuous wherever rendering starts.
 */
double sl_road_tone(const struct sl_plan *plan, double at_s);

/* Pitch at that time, in Hz. */
double sl_road_tone_hz(const struct sl_plan *plan, double at_s);

#endif
