/*
 * Dither: a faint noise laid under every sound before it is recognised. Digital silence and muted
 * stretches have features that no microphone ever gives, and the model loses words beside them.
 */
#ifndef SL_SPEECH_DITHER_H
#define SL_SPEECH_DITHER_H

#include <stddef.h>
#include <stdint.h>

/* Uniform, up to this many steps of 16 bit either way: about -87 dBFS, below any room and any
 * voice. */
#define SL_DITHER_STEPS 2

/* Copies n samples with dither added, clamped. `position` is the place of the first one in the
 * sound: the noise depends on it alone, so the same sound gives the same words however it is fed.
 */
void sl_dither_copy(int16_t *to, const int16_t *from, size_t n, size_t position);

#endif
