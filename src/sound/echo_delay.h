/*
 * How long what is played takes to come back into the microphone, by cross-correlation of the two.
 */
#ifndef SL_SOUND_ECHO_DELAY_H
#define SL_SOUND_ECHO_DELAY_H

#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_ECHO_DELAY_MOST 11200 /* the longest delay looked for, in frames of 16 kHz: 0.7 s */

struct sl_echo_delay;

/* SL_NO_MEMORY. */
enum sl_status sl_echo_delay_new(struct sl_echo_delay **delay, struct sl_error *error);

/* NULL is fine. */
void sl_echo_delay_free(struct sl_echo_delay *delay);

/* The next SL_ECHO_BLOCK frames of both at 16 kHz; what lies seconds back counts less and less. */
void sl_echo_delay_add(struct sl_echo_delay *delay, const int16_t *mic, const int16_t *reference);

/*
 * Whether the sound so far shows a delay beyond doubt; then *frames is set, exact to 4 frames (a
 * quarter of a millisecond). Needs a second of sound played.
 */
bool sl_echo_delay_find(const struct sl_echo_delay *delay, size_t *frames);

#endif
