/* The threads behind the sound's: the one that writes the recording, the one that listens live. */
#include "practice/rehearsal_parts.h"
#include "speech/listener.h"

#define RECORD_FRAMES 4000
#define HEAR_FRAMES 320 /* phrases come out at the end of a call */

void *sl_rehearsal_record_thread(void *state)
{
    struct sl_rehearsal_run_state *run = state;
    int16_t frames[RECORD_FRAMES];
    enum sl_status status = SL_OK;
    size_t n;
    while ((n = sl_frame_queue_take(run->to_record, frames, RECORD_FRAMES)) > 0) {
        if (status == SL_OK) {
            status = sl_sound_stream_write(run->stream, frames, n, &run->disk_error);
            atomic_store(&run->disk_failed, status != SL_OK);
        }
    }
    struct sl_error *error = status == SL_OK ? &run->disk_error : NULL;
    if (sl_sound_stream_close(run->stream, error) != SL_OK) {
        atomic_store(&run->disk_failed, true);
    }
    run->stream = NULL;
    sl_event_queue_leave(run->events);
    return NULL;
}

/* Passes on what was heard since the first `from` phrases. */
static void pass_on(struct sl_rehearsal_run_state *run, const struct sl_heard_list *heard,
                    size_t from)
{
    double zero_s = (double)sl_cue_player_zero_frame(run->player) / SL_SOUND_RATE_HZ;
    for (size_t i = from; i < heard->count; i++) {
        const struct sl_heard *phrase = &heard->items[i];
        for (size_t k = 0; k < i; k++) {
            if (heard->items[k].phase < SL_PHASE_MAX &&
                sl_listener_replaces(phrase, &heard->items[k])) {
                atomic_fetch_and(&run->said, ~(1U << heard->items[k].phase));
            }
        }
        if (phrase->phase < SL_PHASE_MAX && !phrase->unclear && phrase->start_s >= zero_s) {
            atomic_fetch_or(&run->said, 1U << phrase->phase);
        }
        sl_rehearsal_post(run, &(struct sl_event){.kind = SL_EVENT_HEARD, .heard = phrase});
    }
    long from_ms = atomic_load(&run->from_ms);
    const struct sl_rehearsal_drive *driven = run->setup->driven;
    if (driven != NULL && heard->count > from && from_ms >= 0 &&
        sl_live_car_hear(driven->car, heard, (double)from_ms / 1000) != SL_OK) {
        atomic_store(&run->no_memory, true);
    }
}

void *sl_rehearsal_hear_thread(void *state)
{
    struct sl_rehearsal_run_state *run = state;
    const struct sl_live_ear *ear = run->setup->ear;
    int16_t frames[HEAR_FRAMES];
    struct sl_heard_list heard = {0};
    bool listening = true;
    size_t n;
    while ((n = sl_frame_queue_take(run->to_hear, frames, HEAR_FRAMES)) > 0) {
        if (listening) {
            size_t before = heard.count;
            listening = ear->feed(ear->self, frames, n, &heard, NULL) == SL_OK;
            pass_on(run, &heard, before);
        }
    }
    size_t before = heard.count;
    (void)ear->finish(ear->self, &heard, NULL);
    pass_on(run, &heard, before);
    sl_heard_clear(&heard);
    sl_event_queue_leave(run->events);
    return NULL;
}
