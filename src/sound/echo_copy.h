/*
 * Whether the microphone gives what is played itself, rather than what can be heard of it. A sound
 * server whose microphone was unplugged may go on with the speaker's own monitor, and says nothing:
 * then the program hears itself, and nobody else. No loudspeaker and no room let sound through as
 * it was; a monitor does, frame by frame and about as loud.
 */
#ifndef SL_SOUND_ECHO_COPY_H
#define SL_SOUND_ECHO_COPY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_ECHO_COPY_LAGS 33 /* looked at, around the delay that was found; frames of 16 kHz */

/* Initialise with {0}. */
struct sl_echo_copy {
    size_t first;  /* the shortest delay looked at */
    bool expected; /* a delay was found */
    /* Sums over the blocks at hand in which a cue sounds. */
    double products[SL_ECHO_COPY_LAGS], played[SL_ECHO_COPY_LAGS], mic;
    unsigned n_blocks, n_alike; /* n_alike: judgements running that it is a copy */
};

/* What is played was found to come back after `delay` frames, good to 12; 13 to `most`, the longest
 * for which sound is at hand (at least SL_ECHO_COPY_LAGS). Another delay begins anew. */
void sl_echo_copy_expect(struct sl_echo_copy *copy, size_t delay, size_t most);

/* The next SL_ECHO_BLOCK frames of the microphone, and what was played when the first of them was
 * captured: played[-k] is what was played k frames before, down to `most` of the above. Passes over
 * blocks in which nothing but the softest is played. */
void sl_echo_copy_add(struct sl_echo_copy *copy, const int16_t *mic, const int16_t *played);

/* Whether the last 0.75 s of cues was a copy: three times running, over a quarter of a second of
 * cues, the two correlate by 0.985 or more (1: the same but for the level) within 6 dB of the same
 * level. A learner who is heard as well is in the way of that; a mixer that gives the speaker's
 * sound back unchanged, beside a silent learner, is taken for a copy. */
bool sl_echo_copy_is_sure(const struct sl_echo_copy *copy);

#endif
