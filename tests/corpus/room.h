/*
 * What lies around the speech: noise of a car, of a fan, of people talking; a room's echo.
 */
#ifndef CORPUS_ROOM_H
#define CORPUS_ROOM_H

#include "rng.h"
#include "voice.h"

enum corpus_noise { CORPUS_NOISE_NONE, CORPUS_NOISE_CAR, CORPUS_NOISE_FAN, CORPUS_NOISE_BABBLE };

const char *corpus_noise_word(enum corpus_noise noise);

struct corpus_background {
    enum corpus_noise kind;
    enum corpus_split split; /* of the voices in a babble */
    double rms;              /* level, of full scale */
};

/* Adds noise to the whole sound; CORPUS_NOISE_NONE is the even hiss of a microphone. */
enum sl_status corpus_room_noise(struct corpus_rng *rng, const struct corpus_background *background,
                                 struct corpus_sound *sound, struct sl_error *error);

/* Early reflections of a small space, as a car's or a room's: three decaying echoes within 25 ms.
 */
void corpus_room_echo(struct corpus_rng *rng, struct corpus_sound *sound);

/* Makes speech hard to follow: dull, and under a burst of noise. */
void corpus_room_mumble(struct corpus_rng *rng, struct corpus_sound *sound);

double corpus_sound_rms(const struct corpus_sound *sound);

#endif
