#include "sound/echo_watch.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define ACTIVE_POWER 10000.0 /* rms 100, -50 dB of full scale */
#define RINGING 0.5          /* what is left of a played sound 50 ms later, in power */
#define LEAK_STEP 0.1
#define FIRST_STEPS 40  /* two seconds: all is taken for echo, and nothing is said yet */
#define FIRST_SHARE 0.3 /* ... of which the leak is the level that so many stay below */
#define FIRST_STEP_DB 2.0
#define ALONE 2.0        /* the microphone hears more than twice the echo's power: someone talks */
#define BELIEVED 0.5     /* of the microphone's power is left at most where an echo was taken out */
#define NOISE_RISE 1.006 /* the noise floor may rise by a decibel in two seconds */
#define MEMORY_STEPS 20.0 /* one second */
#define WORKING_DB 15.0   /* reached: the echo is no longer heard as words */
#define FAILING_DB 11.0   /* fallen below: it may be again */
#define LEFT_SHARE 0.25   /* three of four steps leave less of the echo than is said */
#define AUDIBLE 2.0       /* the echo is heard from 3 dB above the noise */
#define LEAST_GAINS 10
#define SURE_STEPS 80     /* four seconds: an echo is learnt in them, if it can be */
#define UNFOUND_STEPS 100 /* five: and found, if there is one */

static double in_db(double ratio)
{
    return 10 * log10(fmax(ratio, 1e-12));
}

static void follow_noise(struct sl_echo_watch *watch, double mic)
{
    double risen = watch->noise * NOISE_RISE;
    watch->noise = watch->noise == 0 ? mic : fmin(mic, risen);
    watch->noise = fmax(watch->noise, 1);
}

/* A count of steps above and below: comes to rest where FIRST_SHARE of them are below. */
static void guess_leak(struct sl_echo_watch *watch, double leak_db)
{
    if (watch->n_active == 1) {
        watch->leak_db = leak_db;
    } else if (leak_db < watch->leak_db) {
        watch->leak_db -= FIRST_STEP_DB * (1 - FIRST_SHARE);
    } else {
        watch->leak_db += FIRST_STEP_DB * FIRST_SHARE;
    }
}

static int compare_doubles(const void *left, const void *right)
{
    double a = *(const double *)left;
    double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* The value that `share` of the last steps stay below: a learner's soft sounds lower some steps, so
 * a mean would not do. */
static double quantile_db(const struct sl_echo_watch *watch, const double *values_db, double share)
{
    double sorted[SL_ECHO_WATCH_STEPS];
    size_t n = watch->n_alone < SL_ECHO_WATCH_STEPS ? watch->n_alone : SL_ECHO_WATCH_STEPS;
    memcpy(sorted, values_db, n * sizeof *sorted);
    qsort(sorted, n, sizeof *sorted, compare_doubles);
    return sorted[(size_t)((double)(n - 1) * share)];
}

static enum sl_echo_verdict judge(const struct sl_echo_watch *watch)
{
    if (!watch->found && (watch->n_ever >= UNFOUND_STEPS || watch->verdict == SL_ECHO_NONE)) {
        return SL_ECHO_NONE;
    }
    if (watch->n_active < FIRST_STEPS || watch->n_alone < LEAST_GAINS) {
        return SL_ECHO_LEARNING;
    }
    if (watch->echo < AUDIBLE * watch->noise) {
        return SL_ECHO_NONE;
    }
    if (!watch->found) {
        return SL_ECHO_LEARNING;
    }
    if (watch->left < AUDIBLE * watch->noise) {
        return SL_ECHO_WORKING;
    }
    /* Believed once half of the steps are good, and as long as a quarter are or the echo comes as
     * it did: the learner may talk over all of a cue. */
    bool works = watch->verdict == SL_ECHO_WORKING
                     ? watch->confirmed || quantile_db(watch, watch->gains_db, 0.75) >= FAILING_DB
                     : quantile_db(watch, watch->gains_db, 0.5) >= WORKING_DB;
    if (works) {
        return SL_ECHO_WORKING;
    }
    return watch->n_ever < SURE_STEPS ? SL_ECHO_LEARNING : SL_ECHO_FAILING;
}

/* The echo is alone as long as the microphone hears about what usually comes back of what is
 * played, or what the canceller takes for echo; the latter is believed only where taking it out
 * left less, as a canceller led astray by the learner's words adds what was never there. */
static bool echo_is_alone(const struct sl_echo_watch *watch, double mic, double out, double rings)
{
    double echo = rings * pow(10, watch->leak_db / 10);
    if (out < BELIEVED * mic) {
        echo = fmax(echo, watch->taken / SL_ECHO_WATCH_BLOCKS);
    }
    return watch->n_active <= FIRST_STEPS || mic < ALONE * echo + watch->noise;
}

static void step(struct sl_echo_watch *watch)
{
    double mic = watch->mic / SL_ECHO_WATCH_BLOCKS;
    double out = watch->out / SL_ECHO_WATCH_BLOCKS;
    double played = watch->played / SL_ECHO_WATCH_BLOCKS;
    double rings = fmax(played, watch->played_before * RINGING);
    watch->played_before = rings;
    follow_noise(watch, mic);
    if (played < ACTIVE_POWER) {
        return;
    }
    watch->n_active++;
    watch->n_ever++;
    double leak_db = in_db(mic / rings);
    if (watch->n_active <= FIRST_STEPS) {
        guess_leak(watch, leak_db);
    }
    if (!echo_is_alone(watch, mic, out, rings)) {
        watch->verdict = judge(watch);
        return;
    }
    if (watch->n_active > FIRST_STEPS) {
        watch->leak_db += (leak_db - watch->leak_db) * LEAK_STEP;
    }
    size_t at = watch->n_alone++ % SL_ECHO_WATCH_STEPS;
    double noise = watch->noise;
    watch->erles_db[at] = in_db(mic / fmax(out, 1e-3));
    watch->gains_db[at] = in_db(fmax(mic - noise, noise) / fmax(out - noise, noise / 2));
    double share = 1 / fmin(MEMORY_STEPS, (double)watch->n_alone);
    watch->echo += (mic - watch->echo) * share;
    watch->left += (out - watch->left) * share;
    watch->verdict = judge(watch);
}

void sl_echo_watch_add(struct sl_echo_watch *watch, const struct sl_echo_powers *powers)
{
    watch->mic += powers->mic;
    watch->out += powers->out;
    watch->taken += powers->taken;
    watch->played += powers->played;
    if (++watch->n_blocks == SL_ECHO_WATCH_BLOCKS) {
        step(watch);
        watch->mic = watch->out = watch->taken = watch->played = 0;
        watch->n_blocks = 0;
    }
}

void sl_echo_watch_again(struct sl_echo_watch *watch)
{
    *watch = (struct sl_echo_watch){
        .noise = watch->noise, .n_ever = watch->n_ever, .found = watch->found};
}

double sl_echo_watch_erle_db(const struct sl_echo_watch *watch)
{
    return watch->n_alone == 0 ? 0 : quantile_db(watch, watch->erles_db, 0.5);
}

double sl_echo_watch_left(const struct sl_echo_watch *watch)
{
    return watch->n_alone == 0 ? 1 : pow(10, -quantile_db(watch, watch->gains_db, LEFT_SHARE) / 10);
}
