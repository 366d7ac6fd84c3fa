#include "practice/recall_listen.h"

#include "core/str.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE ((double)SL_SOUND_RATE_HZ)
#define BLOCK ((size_t)(SL_SOUND_RATE_HZ / 100)) /* 10 ms */
#define WAIT_S 0.1
#define LEAD_S 0.15 /* between writing a question and its sounding, so that no frame comes late */

/* Speech stands at least so far above the noise, and above this level in a silent room. */
#define ABOVE_NOISE_DB 10.0
#define SPEECH_LEAST_DB (-52.0)
/* The noise is what the quietest blocks of late show: it falls at once and rises slowly. */
#define NOISE_RISE_DB 0.03 /* a block: 3 dB a second */
#define NOISE_MOST_DB (-35.0)
/* Blocks of speech among the last BLOCKS_SEEN that make a beginning: a click is shorter. */
#define BLOCKS_SEEN 16
#define BLOCKS_NEEDED 8

struct sl_ear {
    struct sl_ear_setup setup;
    uint64_t read, written; /* frames */
    double noise_db;        /* 0: not known yet */
    int16_t *samples;       /* of the answer, from the end of the question on */
    size_t n_samples;
};

/* An answer that is listened to, and where in it we are. */
struct progress {
    const struct sl_understanding *by;
    struct sl_heard_list heard; /* by the listener */
    bool complete;              /* all that was asked for was understood */
    size_t block;               /* blocks looked at */
    size_t begins;              /* block at which speech began */
    size_t last_speech;         /* block after the last of speech */
    bool began;
    unsigned history; /* a bit a block, the latest lowest */
};

static const size_t samples_max = (size_t)((SL_ANSWER_WAIT_S + SL_ANSWER_MAX_S) * RATE);

struct sl_recogniser_settings sl_recall_scene_settings(void)
{
    struct sl_recogniser_settings settings = sl_recogniser_defaults();
    settings.entry_log10 = -2;
    settings.loop_log10 = -2;
    settings.margin_s = 0.1;
    return settings;
}

enum sl_status sl_ear_new(const struct sl_ear_setup *setup, struct sl_ear **ear,
                          struct sl_error *error)
{
    struct sl_ear *made = calloc(1, sizeof *made);
    int16_t *samples = malloc(samples_max * sizeof *samples);
    if (made == NULL || samples == NULL) {
        free(made);
        free(samples);
        return sl_fail_memory(error);
    }
    *made = (struct sl_ear){.setup = *setup, .samples = samples};
    *ear = made;
    return SL_OK;
}

void sl_ear_free(struct sl_ear *ear)
{
    if (ear != NULL) {
        free(ear->samples);
        free(ear);
    }
}

static enum sl_status fail_gone(struct sl_error *error)
{
    return sl_fail(error, SL_DEVICE, NULL, "plug it in again, or answer with --typed",
                   "the microphone or the speaker went away");
}

static bool is_gone(enum sl_endpoint_state state)
{
    return state == SL_ENDPOINT_GONE || state == SL_ENDPOINT_STOPPED;
}

/* Throws away what is captured before frame `until`, waiting for it. */
static enum sl_status skip_until(struct sl_ear *ear, uint64_t until, struct sl_error *error)
{
    int16_t block[BLOCK];
    while (ear->read < until) {
        uint64_t missing = until - ear->read;
        size_t n = missing < BLOCK ? (size_t)missing : BLOCK;
        size_t got = sl_endpoint_read(ear->setup.endpoint, block, n);
        ear->read += got;
        if (got == 0 && sl_endpoint_wait(ear->setup.endpoint, n, WAIT_S) == 0 &&
            is_gone(sl_endpoint_facts(ear->setup.endpoint).state)) {
            return fail_gone(error);
        }
    }
    return SL_OK;
}

/* Writes frames, NULL for silence, reading on meanwhile so that nothing piles up. */
static enum sl_status play(struct sl_ear *ear, const int16_t *frames, size_t n,
                           struct sl_error *error)
{
    static const int16_t silence[BLOCK] = {0};
    struct sl_endpoint *endpoint = ear->setup.endpoint;
    size_t done = 0;
    while (done < n) {
        size_t piece = n - done < BLOCK ? n - done : BLOCK;
        size_t took = sl_endpoint_write(endpoint, frames == NULL ? silence : frames + done, piece);
        done += took;
        ear->written += took;
        if (took > 0) {
            continue;
        }
        enum sl_status status = skip_until(ear, ear->read + BLOCK, error);
        if (status != SL_OK) {
            return status;
        }
    }
    return SL_OK;
}

enum sl_status sl_ear_say(struct sl_ear *ear, const char *text, struct sl_error *error)
{
    struct sl_endpoint *endpoint = ear->setup.endpoint;
    if (ear->setup.voice == NULL) {
        return skip_until(ear, sl_endpoint_facts(endpoint).captured, error);
    }
    const struct sl_clip *clip = NULL;
    enum sl_status status = sl_cue_voice_clip(ear->setup.voice, text, &clip, error);
    if (status != SL_OK) {
        return status;
    }
    uint64_t begins = sl_endpoint_facts(endpoint).played + (uint64_t)(LEAD_S * RATE);
    if (begins > ear->written) {
        status = play(ear, NULL, (size_t)(begins - ear->written), error);
    }
    if (status == SL_OK) {
        status = play(ear, clip->samples, clip->n, error);
    }
    if (status == SL_OK) {
        double offset_s = sl_endpoint_facts(endpoint).offset_s;
        status = skip_until(ear, ear->written + (uint64_t)(fmax(offset_s, 0.0) * RATE), error);
    }
    return status;
}

static double level_db(const int16_t *samples, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += (double)samples[i] * samples[i];
    }
    return 10.0 * log10(sum / (double)n / (32768.0 * 32768.0) + 1e-12);
}

static unsigned ones(unsigned bits)
{
    unsigned n = 0;
    for (; bits != 0; bits &= bits - 1) {
        n++;
    }
    return n;
}

static bool block_is_speech(struct sl_ear *ear, const int16_t *samples)
{
    double db = level_db(samples, BLOCK);
    bool known = ear->noise_db < 0.0;
    ear->noise_db = !known || db < ear->noise_db ? db : ear->noise_db + NOISE_RISE_DB;
    ear->noise_db = fmin(ear->noise_db, NOISE_MOST_DB);
    return db > fmax(ear->noise_db + ABOVE_NOISE_DB, SPEECH_LEAST_DB);
}

/* Looks at the whole blocks that came in. */
static void look(struct sl_ear *ear, struct progress *progress)
{
    for (; (progress->block + 1) * BLOCK <= ear->n_samples; progress->block++) {
        bool speech = block_is_speech(ear, ear->samples + progress->block * BLOCK);
        unsigned seen = (1U << BLOCKS_SEEN) - 1U;
        progress->history = ((progress->history << 1) | (speech ? 1U : 0U)) & seen;
        if (!progress->began && ones(progress->history) >= BLOCKS_NEEDED) {
            progress->began = true;
            progress->begins = progress->block >= BLOCKS_SEEN ? progress->block - BLOCKS_SEEN : 0;
        }
        if (speech) {
            progress->last_speech = progress->block + 1;
        }
    }
}

static double blocks_s(size_t blocks)
{
    return (double)(blocks * BLOCK) / RATE;
}

static bool is_over(const struct sl_ear *ear, const struct progress *progress)
{
    double so_far_s = blocks_s(progress->block);
    if (!progress->began) {
        return so_far_s >= SL_ANSWER_WAIT_S;
    }
    double pause_s = progress->complete ? SL_ANSWER_DONE_S : SL_ANSWER_PAUSE_S;
    return so_far_s - blocks_s(progress->last_speech) >= pause_s ||
           so_far_s - blocks_s(progress->begins) >= SL_ANSWER_MAX_S ||
           ear->n_samples == samples_max;
}

/* Lets the listener have the newest frames: all but the first n. */
static enum sl_status hear_on(const struct sl_ear *ear, struct progress *progress, size_t n,
                              struct sl_error *error)
{
    if (progress->by->listener == NULL) {
        return SL_OK;
    }
    size_t before = progress->heard.count;
    enum sl_status status = sl_listener_feed(progress->by->listener, ear->samples + n,
                                             ear->n_samples - n, &progress->heard, error);
    if (progress->heard.count > before) {
        sl_listener_drop_replaced(&progress->heard);
        struct sl_reply reply = sl_reply_from_heard(&progress->heard);
        unsigned clear = sl_reply_parts(&reply) & ~reply.unclear;
        progress->complete = (progress->by->parts & ~clear) == 0;
    }
    return status;
}

/* Captures until the answer is over. *ended: no answer will come any more. */
static enum sl_status capture(struct sl_ear *ear, struct progress *progress, bool *ended,
                              struct sl_error *error)
{
    struct sl_endpoint *endpoint = ear->setup.endpoint;
    ear->n_samples = 0;
    while (!is_over(ear, progress)) {
        size_t room = samples_max - ear->n_samples;
        size_t n =
            sl_endpoint_read(endpoint, ear->samples + ear->n_samples, room < BLOCK ? room : BLOCK);
        ear->read += n;
        ear->n_samples += n;
        enum sl_status status = hear_on(ear, progress, ear->n_samples - n, error);
        look(ear, progress);
        if (status != SL_OK) {
            return status;
        }
        enum sl_endpoint_state state = sl_endpoint_facts(endpoint).state;
        if (state == SL_ENDPOINT_ENDED ||
            (n == 0 && ear->setup.wants_end != NULL && ear->setup.wants_end(ear->setup.user))) {
            *ended = true;
            return SL_OK;
        }
        if (n == 0 && sl_endpoint_wait(endpoint, BLOCK, WAIT_S) == 0 && is_gone(state)) {
            return fail_gone(error);
        }
    }
    return SL_OK;
}

static bool is_answer(const struct sl_heard *heard)
{
    return heard->phase != SL_PHRASE_FILLER && heard->phase != SL_PHRASE_CORRECTION;
}

/* Fills in what was understood. */
static enum sl_status understand(const struct sl_heard_list *heard, struct sl_hearing *hearing,
                                 struct sl_error *error)
{
    struct sl_str words = {0};
    size_t n_answers = 0;
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        sl_str_addf(&words, "%s%s%s", i > 0 ? ", " : "", item->text,
                    item->unclear ? " (unclear)" : "");
        if (is_answer(item) && n_answers++ == 0) {
            hearing->after_s = item->start_s;
        }
    }
    hearing->kind = n_answers > 0 ? SL_HEARD_ANSWER : SL_HEARD_WORDS;
    hearing->reply = sl_reply_from_heard(heard);
    hearing->words = sl_str_take(&words);
    return hearing->words == NULL ? sl_fail_memory(error) : SL_OK;
}

static enum sl_status recognise(struct sl_ear *ear, struct sl_recogniser *recogniser,
                                struct sl_hearing *hearing, struct sl_error *error)
{
    struct sl_heard_list heard = {0};
    enum sl_status status =
        sl_recogniser_feed(recogniser, ear->samples, ear->n_samples, &heard, error);
    if (status == SL_OK) {
        status = sl_recogniser_finish(recogniser, &heard, error);
    }
    if (status == SL_OK) {
        status = understand(&heard, hearing, error);
    }
    sl_heard_clear(&heard);
    return status;
}

enum sl_status sl_ear_hear(struct sl_ear *ear, const struct sl_understanding *by,
                           struct sl_hearing *hearing, struct sl_error *error)
{
    struct progress progress = {.by = by};
    bool ended = false;
    sl_hearing_clear(hearing);
    enum sl_status status = capture(ear, &progress, &ended, error);
    if (by->listener != NULL) { /* what it makes of the rest does not matter */
        (void)sl_listener_finish(by->listener, &progress.heard, NULL);
    }
    sl_heard_clear(&progress.heard);
    if (status != SL_OK) {
        return status;
    }
    if (!progress.began) {
        hearing->kind = ended ? SL_HEARD_END : SL_HEARD_SILENCE;
        return SL_OK;
    }
    return recognise(ear, by->recogniser, hearing, error);
}

void sl_hearing_clear(struct sl_hearing *hearing)
{
    free(hearing->words);
    *hearing = (struct sl_hearing){0};
}
