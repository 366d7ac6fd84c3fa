/*
 * Taking the sound of the speaker out of the microphone's (speexdsp; no other file knows it), so
 * that cues are never taken for the learner's words.
 *
 * What is played is known, so its echo can be learnt and subtracted; how well is measured all the
 * time as echo return loss enhancement (ERLE, ITU-T G.168). Where it does not work (two devices
 * whose clocks drift apart; someone who talks over the whole announcement) listening turns
 * half-duplex: while a cue sounds in the microphone, and for a moment after, silence is given out.
 *
 * What the canceller leaves of the echo is turned down towards the room's noise as long as nobody
 * talks over it. Where nothing was played a moment ago, or no echo comes back, the microphone's
 * sound is passed on as it is, to the bit.
 *
 * One thread; frames in blocks of SL_ECHO_BLOCK at SL_SOUND_RATE_HZ; about 5 % of one processor.
 */
#ifndef SL_SOUND_ECHO_H
#define SL_SOUND_ECHO_H

#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SL_ECHO_BLOCK 160 /* frames; 10 ms */

enum sl_echo_verdict {
    SL_ECHO_LEARNING, /* too little was played to tell: half-duplex so far */
    SL_ECHO_WORKING,  /* the echo is taken out, the learner is heard while a cue sounds */
    SL_ECHO_NONE,     /* no echo reaches the microphone (a headset): nothing to take out */
    SL_ECHO_FAILING   /* not converged: half-duplex */
};

/* "learning", "working", "no echo", "not converged"; never NULL. */
const char *sl_echo_verdict_name(enum sl_echo_verdict verdict);

struct sl_echo;

/* `offset_s`: from playing to capturing as the device's stamps say, 0 when unknown; it is refined
 * from the sound itself. Up to 0.6 s in all. SL_INVALID outside of that, SL_NO_MEMORY. */
enum sl_status sl_echo_new(double offset_s, struct sl_echo **echo, struct sl_error *error);

/* NULL is fine. */
void sl_echo_free(struct sl_echo *echo);

/* The device's offset became known or jumped (0 to 0.6 s, clamped); nothing happens once the sound
 * itself has shown it. */
void sl_echo_offset(struct sl_echo *echo, double offset_s);

/*
 * The next SL_ECHO_BLOCK frames: `mic` captured as numbers k and on, `reference` the frames played
 * as the same numbers k and on (sound/endpoint.h). Fills `out`, which may be `mic`: the
 * microphone's sound without the speaker's, or exact zeros while listening is half-duplex and a
 * cue sounds.
 */
void sl_echo_process(struct sl_echo *echo, const int16_t *mic, const int16_t *reference,
                     int16_t *out);

struct sl_echo_report {
    enum sl_echo_verdict verdict;
    double erle_db;   /* median over the last 1.6 s in which only the echo was heard; 0 before */
    double leak_db;   /* the echo's level in the microphone against what was played; 0 before */
    double delay_s;   /* from playing to hearing it, as used now */
    bool aligned;     /* the delay was found in the sound itself */
    bool copied;      /* the microphone gives what is played itself (sound/echo_copy.h) */
    bool muted;       /* the last block was given out as silence */
    uint64_t n_muted; /* blocks given out as silence so far */
};

struct sl_echo_report sl_echo_report(const struct sl_echo *echo);

#endif
