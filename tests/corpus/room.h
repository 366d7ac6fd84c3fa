/*
 * What lies around the speech: noise of a car, of a fan, of people talking; a room's walls.
 */
#ifndef CORPUS_ROOM_H
#define CORPUS_ROOM_H

#include "rng.h"
#include "voice.h"

enum corpus_noise { CORPUS_NOISE_NONE, CORPUS_NOISE_CAR, CORPUS_NOISE_FAN, CORPUS_NOISE_BABBLE };

const char *corpus_noise_word(enum corpus_noise noise);

struct corpus_background {
    enum corpus_noise kind;
    struct corpus_speakers speakers; /* in a babble */
    double rms;                      /* level, of full scale */
};

/* Adds noise to the whole sound; CORPUS_NOISE_NONE is the even hiss of a microphone. */
enum sl_status corpus_room_noise(struct corpus_rng *rng, const struct corpus_background *background,
                                 struct corpus_sound *sound, struct sl_error *error);

/* Where the speaker is. */
enum corpus_room {
    CORPUS_ROOM_DRY,
    CORPUS_ROOM_NEAR,  /* three echoes within 25 ms, as from a desk and a wall */
    CORPUS_ROOM_CABIN, /* of a car: reverberation time 0.06 to 0.12 s, mostly direct sound */
    CORPUS_ROOM_LIVING /* a room of a flat: 0.25 to 0.5 s */
};

/* "dry", "near", "cabin", "living" */
const char *corpus_room_word(enum corpus_room room);

/* Adds what walls send back; the direct sound stays as it is and where it is. */
enum sl_status corpus_room_echo(struct corpus_rng *rng, enum corpus_room room,
                                struct corpus_sound *sound, struct sl_error *error);

/*
 * Adds late reverberation: a tail whose energy falls by 60 dB in `t60_s` (the reverberation time of
 * ISO 3382), `direct_db` below the direct sound in all. The tail is sparse: single samples of
 * random sign at random places of a grid ("velvet noise": Karjalainen and Jarvelainen,
 * *Reverberation modeling using velvet noise*, AES 30th conference, 2007).
 */
enum sl_status corpus_room_reverb(struct corpus_rng *rng, double t60_s, double direct_db,
                                  struct corpus_sound *sound, struct sl_error *error);

/* Makes speech hard to follow: dull, and under a burst of noise. */
void corpus_room_mumble(struct corpus_rng *rng, struct corpus_sound *sound);

double corpus_sound_rms(const struct corpus_sound *sound);

#endif
