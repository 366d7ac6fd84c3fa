/*
 * Finding a piece of sound in a recording.
 */
#ifndef SL_TESTS_FIND_SOUND_H
#define SL_TESTS_FIND_SOUND_H

#include "sound/clip.h"
#include "sound/sound_reader.h"

#include <math.h>
#include <stdlib.h>

/* Correlation under which a piece is not there. */
#define FIND_SOUND_ALIKE 0.5

/* A whole recording at SL_CLIP_RATE_HZ; longer than a clip may be. The caller frees the samples,
 * also on an error. */
static inline enum sl_status load_sound(const char *path, struct sl_clip *sound)
{
    struct sl_sound_reader *reader = NULL;
    size_t room = 0;
    size_t got = 1;
    enum sl_status status = sl_sound_open(path, SL_CLIP_RATE_HZ, &reader, NULL);
    while (status == SL_OK && got > 0) {
        if (sound->n + SL_CLIP_RATE_HZ > room) {
            room = 2 * room + SL_CLIP_RATE_HZ;
            int16_t *larger = realloc(sound->samples, room * sizeof *larger);
            if (larger == NULL) {
                status = SL_NO_MEMORY;
                break;
            }
            sound->samples = larger;
        }
        status = sl_sound_read(reader, sound->samples + sound->n, SL_CLIP_RATE_HZ, &got, NULL);
        sound->n += got;
    }
    sl_sound_close(reader);
    return status;
}

static inline double sound_correlation(const struct sl_clip *sound, size_t at,
                                       const struct sl_clip *clip)
{
    double both = 0;
    double here = 0;
    double there = 0;
    for (size_t i = 0; i < clip->n; i += 2) { /* every other is enough to place it */
        double a = sound->samples[at + i];
        double b = clip->samples[i];
        both += a * b;
        here += a * a;
        there += b * b;
    }
    return here > 0 && there > 0 ? both / sqrt(here * there) : 0;
}

/* The place of the clip between two frames of the sound; -1 when it is not there. */
static inline double find_sound(const struct sl_clip *sound, const struct sl_clip *clip,
                                double from, double to)
{
    size_t first = from > 0 ? (size_t)from : 0;
    size_t last = to > 0 ? (size_t)to : 0;
    last = last + clip->n > sound->n ? (sound->n > clip->n ? sound->n - clip->n : 0) : last;
    double best = FIND_SOUND_ALIKE;
    double place = -1;
    for (size_t at = first; at < last; at++) {
        double alike = sound_correlation(sound, at, clip);
        if (alike > best) {
            best = alike;
            place = (double)at;
        }
    }
    return place;
}

#endif
