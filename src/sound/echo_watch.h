/*
 * Watching over an echo canceller: whether there is an echo at all, how much of it is taken out,
 * and whether that will do. An echo is believed in once the microphone was found to repeat what is
 * played; a microphone that is merely loud while a cue sounds hears the learner. How much is taken
 * out is judged only in moments in which nothing but the echo is heard, so that a learner who
 * talks is not taken for an echo that is left over.
 */
#ifndef SL_SOUND_ECHO_WATCH_H
#define SL_SOUND_ECHO_WATCH_H

#include "sound/echo.h"

#define SL_ECHO_WATCH_BLOCKS 5 /* power is compared over so many blocks: 50 ms */

#define SL_ECHO_WATCH_STEPS 32 /* the verdict is on the last so many, 1.6 s of echo alone */

/* Initialise with {0}. A step is SL_ECHO_WATCH_BLOCKS blocks. */
struct sl_echo_watch {
    double mic, out, played, taken; /* sums of power over the blocks of the step at hand */
    size_t n_blocks;
    double played_before; /* what was played a moment ago and still rings */
    double noise;         /* the microphone's power when all is quiet; 0: not known */
    double leak_db;       /* the echo's usual level against what is played */
    double echo, left;    /* power of the echo alone, before and after cancelling */
    /* Of the last steps with the echo alone: as measured, and without the noise's share. */
    double erles_db[SL_ECHO_WATCH_STEPS], gains_db[SL_ECHO_WATCH_STEPS];
    size_t n_active, n_alone; /* steps in which something was played; with the echo alone */
    size_t n_ever;            /* as n_active, never forgotten */
    /* Set by the user: what is played was once found in the microphone; was found a moment ago, as
     * late as is reckoned with. */
    bool found, confirmed;
    enum sl_echo_verdict verdict;
};

/* Mean power (squares of 16-bit frames) of one block: captured, after cancelling, of the echo that
 * was taken out (the difference of the two), and of what is played, aligned to the microphone. */
struct sl_echo_powers {
    double mic, out, taken, played;
};

void sl_echo_watch_add(struct sl_echo_watch *watch, const struct sl_echo_powers *powers);

/* Forgets what was measured of the canceller, as it begins to learn anew. */
void sl_echo_watch_again(struct sl_echo_watch *watch);

/* Echo return loss enhancement so far, in dB; 0 before anything was measured. */
double sl_echo_watch_erle_db(const struct sl_echo_watch *watch);

/* The share of the echo's power that cancelling leaves, in most moments at most; 1 before anything
 * was measured. */
double sl_echo_watch_left(const struct sl_echo_watch *watch);

#endif
