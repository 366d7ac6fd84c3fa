#include "sound/echo.h"

#include "sound/echo_copy.h"
#include "sound/echo_delay.h"
#include "sound/echo_watch.h"
#include "sound/endpoint.h"

#include <speex/speex_echo.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE SL_SOUND_RATE_HZ
#define TAIL_FRAMES (RATE * 150 / 1000)
#define LEAD_FRAMES (RATE * 2 / 1000) /* the reference comes a little before its echo */
#define MOST_OFFSET_S 0.6
#define HISTORY (SL_ECHO_DELAY_MOST + SL_ECHO_BLOCK)
#define LOOK_BLOCKS 25                 /* how often the delay is looked for */
#define APART_FRAMES (RATE * 3 / 1000) /* by so much the delay must be wrong to be set anew */
/* A block is a part of a cue from -45 dB of full scale on; what is softer (a road tone) leaks in
 * too softly to be taken for words. */
#define CUE_POWER (184.0 * 184.0)
/* Muted from so many blocks before a cue reaches the microphone until so many after it. */
#define BEFORE_BLOCKS 3
#define AFTER_BLOCKS 20
#define UNSURE_BLOCKS 15 /* more, as long as only the stamps say when that is */
#define STILL_POWER 1.0  /* less is not played at all */
#define RINGING 0.6      /* what is left of an echo a block later, at most: 60 dB in 0.27 s */
#define OVER 6.0         /* so many times what is usually left of an echo is taken for it */
#define GAIN_FALLS 0.5   /* the share of the way down that the gain goes in one block */
#define POWER_BLOCKS 5.0
#define ASTRAY 2.0 /* a canceller that leaves more than twice the power is astray */
#define CUE_BLOCKS (HISTORY / SL_ECHO_BLOCK + BEFORE_BLOCKS + AFTER_BLOCKS + UNSURE_BLOCKS + 1)

struct sl_echo {
    SpeexEchoState *canceller;
    struct sl_echo_delay *search;
    struct sl_echo_watch watch;
    struct sl_echo_copy copy;
    int16_t played[HISTORY]; /* oldest first */
    bool cue[CUE_BLOCKS];    /* whether a block was part of a cue; newest first */
    size_t delay_frames;
    size_t found_before;           /* what the last look found, 0: nothing */
    double mic_power, clean_power; /* of about the last 50 ms */
    double raw_share;              /* of the microphone's own sound in what is given out */
    double echo_power, gain;       /* of the echo, with its ringing; on what the canceller left */
    size_t n_still;                /* blocks since anything was played */
    bool offset_known, aligned, muted;
    uint64_t n_blocks, n_muted;
};

const char *sl_echo_verdict_name(enum sl_echo_verdict verdict)
{
    switch (verdict) {
    case SL_ECHO_LEARNING:
        return "learning";
    case SL_ECHO_WORKING:
        return "working";
    case SL_ECHO_NONE:
        return "no echo";
    case SL_ECHO_FAILING:
        return "not converged";
    }
    return "unknown";
}

enum sl_status sl_echo_new(double offset_s, struct sl_echo **echo, struct sl_error *error)
{
    if (!(offset_s >= 0 && offset_s <= MOST_OFFSET_S)) {
        return sl_fail(error, SL_INVALID, NULL, "choose another device",
                       "sound that comes back after %g s cannot be cancelled", offset_s);
    }
    struct sl_echo *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->gain = 1;
    int rate = RATE;
    enum sl_status status = sl_echo_delay_new(&made->search, error);
    made->canceller = speex_echo_state_init(SL_ECHO_BLOCK, TAIL_FRAMES);
    if (made->canceller == NULL && status == SL_OK) {
        status = sl_fail_memory(error);
    }
    if (status != SL_OK) {
        sl_echo_free(made);
        return status;
    }
    (void)speex_echo_ctl(made->canceller, SPEEX_ECHO_SET_SAMPLING_RATE, &rate);
    sl_echo_offset(made, offset_s);
    *echo = made;
    return SL_OK;
}

void sl_echo_free(struct sl_echo *echo)
{
    if (echo != NULL) {
        if (echo->canceller != NULL) {
            speex_echo_state_destroy(echo->canceller);
        }
        sl_echo_delay_free(echo->search);
        free(echo);
    }
}

static size_t apart(size_t one, size_t other)
{
    return one > other ? one - other : other - one;
}

/* From now on the echo is expected `frames` after the playing; another place means learning anew.
 */
static void set_delay(struct sl_echo *echo, size_t frames)
{
    if (apart(frames, echo->delay_frames) > APART_FRAMES) {
        echo->delay_frames = frames;
        speex_echo_state_reset(echo->canceller);
        if (echo->aligned || echo->watch.verdict != SL_ECHO_NONE) { /* stamps bring no echo */
            sl_echo_watch_again(&echo->watch);
        }
    }
}

void sl_echo_offset(struct sl_echo *echo, double offset_s)
{
    if (!echo->aligned && offset_s > 0) {
        echo->offset_known = true;
        set_delay(echo, (size_t)(fmin(offset_s, MOST_OFFSET_S) * RATE));
    }
}

/* Believes a delay that two looks in a row found. */
static void look_for_delay(struct sl_echo *echo)
{
    size_t found = 0;
    if (!sl_echo_delay_find(echo->search, &found)) {
        echo->found_before = 0;
        return;
    }
    sl_echo_copy_expect(&echo->copy, found, SL_ECHO_DELAY_MOST);
    if (echo->found_before > 0 && apart(found, echo->found_before) <= APART_FRAMES / 2) {
        echo->aligned = true;
        set_delay(echo, found);
    }
    echo->found_before = found;
}

static double power_of(const int16_t *frames)
{
    double sum = 0;
    for (size_t i = 0; i < SL_ECHO_BLOCK; i++) {
        sum += (double)frames[i] * frames[i];
    }
    return sum / SL_ECHO_BLOCK;
}

/* Of the difference of the two. */
static double power_apart(const int16_t *left, const int16_t *right)
{
    double sum = 0;
    for (size_t i = 0; i < SL_ECHO_BLOCK; i++) {
        double difference = left[i] - right[i];
        sum += difference * difference;
    }
    return sum / SL_ECHO_BLOCK;
}

static void remember(struct sl_echo *echo, const int16_t *reference)
{
    memmove(echo->played, echo->played + SL_ECHO_BLOCK,
            (HISTORY - SL_ECHO_BLOCK) * sizeof *echo->played);
    memcpy(echo->played + HISTORY - SL_ECHO_BLOCK, reference, SL_ECHO_BLOCK * sizeof *echo->played);
    memmove(echo->cue + 1, echo->cue, (CUE_BLOCKS - 1) * sizeof *echo->cue);
    double power = power_of(reference);
    echo->cue[0] = power >= CUE_POWER;
    echo->n_still = power < STILL_POWER ? echo->n_still + 1 : 0;
}

/* Whether a cue sounds in the microphone now, as far as that is known. */
static bool cue_sounds(const struct sl_echo *echo)
{
    size_t delay = echo->delay_frames / SL_ECHO_BLOCK;
    size_t from = delay;
    size_t to = delay + AFTER_BLOCKS;
    if (!echo->aligned) {
        from = echo->offset_known ? delay : 0;
        to = echo->offset_known ? to + UNSURE_BLOCKS : CUE_BLOCKS;
    }
    from = from > BEFORE_BLOCKS ? from - BEFORE_BLOCKS : 0;
    for (size_t i = from; i < to && i < CUE_BLOCKS; i++) {
        if (echo->cue[i]) {
            return true;
        }
    }
    return false;
}

/* Whether what was played has faded away in the microphone too. */
static bool echo_is_over(const struct sl_echo *echo)
{
    size_t most = echo->aligned ? echo->delay_frames : SL_ECHO_DELAY_MOST;
    return echo->n_still * SL_ECHO_BLOCK > most + TAIL_FRAMES;
}

/* Takes the microphone's own sound where there is no echo to take out, as the canceller colours
 * what it passes on, and where the canceller, led astray by the learner's words, adds to it; fades
 * over one block from one to the other. */
static void choose(struct sl_echo *echo, const struct sl_echo_powers *powers, const int16_t *mic,
                   int16_t *clean)
{
    echo->mic_power += (powers->mic - echo->mic_power) / POWER_BLOCKS;
    echo->clean_power += (powers->out - echo->clean_power) / POWER_BLOCKS;
    bool astray = echo->clean_power > ASTRAY * echo->mic_power;
    bool raw = astray || echo->watch.verdict == SL_ECHO_NONE || echo_is_over(echo);
    double wanted = raw ? 1 : 0;
    double step = (wanted - echo->raw_share) / SL_ECHO_BLOCK;
    for (size_t i = 0; i < SL_ECHO_BLOCK; i++) {
        echo->raw_share += step;
        clean[i] = (int16_t)lrint(clean[i] + echo->raw_share * (mic[i] - clean[i]));
    }
    echo->raw_share = wanted;
}

/* Turns what is left of the echo down towards the room's noise, so that no pause of the learner is
 * taken for a voice; words that stand clearly above it are left as they are. */
static void turn_down(struct sl_echo *echo, const struct sl_echo_powers *powers, int16_t *clean)
{
    echo->echo_power = fmax(powers->taken, echo->echo_power * RINGING);
    double left = OVER * echo->echo_power * sl_echo_watch_left(&echo->watch);
    double wanted = 1;
    if (echo->watch.verdict == SL_ECHO_WORKING && !echo_is_over(echo)) {
        double least = echo->watch.noise / (powers->out + 1);
        wanted = sqrt(fmin(fmax((powers->out - left) / (powers->out + 1), least), 1));
    }
    double next = wanted < echo->gain ? echo->gain + (wanted - echo->gain) * GAIN_FALLS : wanted;
    double step = (next - echo->gain) / SL_ECHO_BLOCK;
    for (size_t i = 0; i < SL_ECHO_BLOCK; i++) {
        echo->gain += step;
        clean[i] = (int16_t)lrint(clean[i] * echo->gain);
    }
    echo->gain = next;
}

void sl_echo_process(struct sl_echo *echo, const int16_t *mic, const int16_t *reference,
                     int16_t *out)
{
    remember(echo, reference);
    sl_echo_delay_add(echo->search, mic, reference);
    if (++echo->n_blocks % LOOK_BLOCKS == 0) {
        look_for_delay(echo);
    }
    sl_echo_copy_add(&echo->copy, mic, echo->played + HISTORY - SL_ECHO_BLOCK);
    size_t back = echo->delay_frames > LEAD_FRAMES ? echo->delay_frames - LEAD_FRAMES : 0;
    const int16_t *aligned = echo->played + HISTORY - SL_ECHO_BLOCK - back;
    int16_t clean[SL_ECHO_BLOCK];
    speex_echo_cancellation(echo->canceller, mic, aligned, clean);
    struct sl_echo_powers powers = {.mic = power_of(mic),
                                    .out = power_of(clean),
                                    .taken = power_apart(mic, clean),
                                    .played = power_of(aligned)};
    echo->watch.found = echo->aligned;
    echo->watch.confirmed =
        echo->found_before > 0 && apart(echo->found_before, echo->delay_frames) <= APART_FRAMES;
    sl_echo_watch_add(&echo->watch, &powers);
    turn_down(echo, &powers, clean);
    choose(echo, &powers, mic, clean);
    bool open = echo->watch.verdict == SL_ECHO_WORKING || echo->watch.verdict == SL_ECHO_NONE;
    echo->muted = !open && cue_sounds(echo);
    if (echo->muted) {
        memset(clean, 0, sizeof clean);
        echo->n_muted++;
    }
    memcpy(out, clean, sizeof clean);
}

struct sl_echo_report sl_echo_report(const struct sl_echo *echo)
{
    return (struct sl_echo_report){
        .verdict = echo->watch.verdict,
        .erle_db = sl_echo_watch_erle_db(&echo->watch),
        .leak_db = echo->watch.leak_db,
        .delay_s = (double)echo->delay_frames / RATE,
        .aligned = echo->aligned,
        .copied = sl_echo_copy_is_sure(&echo->copy),
        .muted = echo->muted,
        .n_muted = echo->n_muted,
    };
}
