/* Feedback that is spoken after a run. */
#include "practice/rehearsal.h"

#define RATE ((double)SL_SOUND_RATE_HZ)
#define CHUNK_FRAMES 800
#define MARGIN_FRAMES (SL_SOUND_RATE_HZ / 5) /* so that its beginning is not late */
#define AFTER_FRAMES (SL_SOUND_RATE_HZ / 2)  /* until the device's own buffers are played too */
#define WAIT_S 0.05

/* What is to be played from frame `begin` on. */
struct speech {
    const struct sl_clip *clip;
    uint64_t begin;
};

static void feed(const struct sl_rehearsal *setup, struct sl_rehearsal_result *result,
                 const struct speech *speech)
{
    int16_t frames[CHUNK_FRAMES];
    size_t room = sl_endpoint_writable(setup->endpoint);
    size_t taken = 1;
    while (room > 0 && taken > 0) {
        size_t n = room < CHUNK_FRAMES ? room : CHUNK_FRAMES;
        for (size_t i = 0; i < n; i++) {
            uint64_t at = result->written + i;
            frames[i] = 0;
            if (at >= speech->begin && at < speech->begin + speech->clip->n) {
                frames[i] = speech->clip->samples[at - speech->begin];
            }
        }
        taken = sl_endpoint_write(setup->endpoint, frames, n);
        result->written += taken;
        room -= taken;
    }
}

/* Nobody listens any more. */
static void drain(struct sl_endpoint *endpoint)
{
    int16_t frames[CHUNK_FRAMES];
    sl_endpoint_wait(endpoint, CHUNK_FRAMES, WAIT_S);
    while (sl_endpoint_read(endpoint, frames, CHUNK_FRAMES) > 0) {
    }
}

enum sl_status sl_rehearsal_say(const struct sl_rehearsal *setup,
                                struct sl_rehearsal_result *result, const char *text,
                                struct sl_error *error)
{
    struct speech speech = {0};
    enum sl_status status = sl_cue_voice_clip(setup->voice, text, &speech.clip, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_endpoint_facts facts = sl_endpoint_facts(setup->endpoint);
    uint64_t soon = facts.played + MARGIN_FRAMES;
    speech.begin = result->written > soon ? result->written : soon;
    uint64_t end = speech.begin + speech.clip->n + AFTER_FRAMES;
    double idle_s = 0;
    while (facts.played < end && idle_s < SL_REHEARSAL_STALL_S) {
        if (facts.state == SL_ENDPOINT_GONE || facts.state == SL_ENDPOINT_STOPPED ||
            (setup->stop != NULL && setup->stop(setup->user))) {
            break;
        }
        feed(setup, result, &speech);
        drain(setup->endpoint);
        uint64_t before = facts.played;
        facts = sl_endpoint_facts(setup->endpoint);
        idle_s = facts.played > before ? 0 : idle_s + WAIT_S;
    }
    return SL_OK;
}
