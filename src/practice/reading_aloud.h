/*
 * The sound of somebody who reads phrases aloud, gathered phrase by phrase from a microphone or at
 * once from a recording.
 */
#ifndef SL_PRACTICE_READING_ALOUD_H
#define SL_PRACTICE_READING_ALOUD_H

#include "core/status.h"
#include "sound/endpoint.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* No reading is longer; a longer recording is refused. */
#define SL_READING_ALOUD_MOST_S 600.0

/* At SL_SOUND_RATE_HZ, mono. Initialise with {0}; release with sl_reading_aloud_clear. */
struct sl_reading_aloud {
    int16_t *samples;
    size_t n, room;
};

/* Adds a whole sound file. Errors as sl_sound_open; SL_TOO_LARGE. */
enum sl_status sl_reading_aloud_load(const char *path, struct sl_reading_aloud *aloud,
                                     struct sl_error *error);

/* Listens to one phrase (practice/cue_recorder.h: sl_take_listen) and adds the sound; *spoken is
 * false, and nothing is added, where there was no speech. Errors as sl_take_listen. */
enum sl_status sl_reading_aloud_hear(struct sl_endpoint *endpoint, const char *phrase,
                                     struct sl_reading_aloud *aloud, bool *spoken,
                                     struct sl_error *error);

/* NULL is fine. */
void sl_reading_aloud_clear(struct sl_reading_aloud *aloud);

#endif
