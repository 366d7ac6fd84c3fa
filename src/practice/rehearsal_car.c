/* What a driven car does, as events, and what is called out where it is. */
#include "practice/rehearsal_parts.h"

#include <math.h>

#define RATE ((double)SL_SOUND_RATE_HZ)
#define BRAKES_AGAIN_S 1.0 /* braking that goes on after so short a pause is the same */

static void post_kind(struct sl_rehearsal_run_state *run, enum sl_event_kind kind)
{
    sl_rehearsal_post_now(run, (struct sl_event){.kind = kind});
}

/* Whether what others do is to be said before this call would be over. */
static bool others_come(const struct sl_rehearsal_run_state *run, const struct sl_cue *call,
                        double speed_mps)
{
    double until_m = call->distance_m - speed_mps * (call->end_s - call->at_s + SL_CUE_GAP_S);
    for (size_t i = run->next_call + 1; i < run->cues.count; i++) {
        const struct sl_cue *cue = &run->cues.items[i];
        if (cue->kind == SL_CUE_ROAD && cue->distance_m > until_m) {
            return true;
        }
    }
    return false;
}

/* Begins the next call with the frames that are made next, if the car will be there; a distance
 * that would be in the way of another cue or of the learner is left out. */
static void call_out(struct sl_rehearsal_run_state *run)
{
    if (run->next_call == run->cues.count) {
        return;
    }
    struct sl_cue *cue = &run->cues.items[run->next_call];
    double zero = (double)sl_cue_player_zero_frame(run->player);
    double at_s = ((double)run->written - zero) / RATE;
    struct sl_drive_sample car = sl_live_car_at(run->setup->driven->car, at_s);
    if (car.distance_m > cue->distance_m) {
        return;
    }
    struct sl_cue call = *cue;
    call.at_s = at_s;
    call.end_s += at_s;
    if (cue->kind != SL_CUE_DISTANCE || (sl_cue_has_room(run->setup->plan, &run->cues, &call) &&
                                         !others_come(run, &call, car.speed_mps))) {
        *cue = call;
        sl_cue_player_begin(run->player, run->next_call, run->written);
        sl_rehearsal_post_now(run, (struct sl_event){.kind = SL_EVENT_CUE, .cue = cue});
    }
    run->next_call++;
}

void sl_rehearsal_follow_car(struct sl_rehearsal_run_state *run, double at_s)
{
    if (!run->announced) {
        return;
    }
    struct sl_drive_sample before = run->before;
    struct sl_drive_sample now = sl_live_car_at(run->setup->driven->car, at_s);
    bool first = before.gear == 0 && before.engine_rpm <= 0;
    run->before = now;
    call_out(run);
    if (now.braking && at_s - run->braked_s > BRAKES_AGAIN_S) {
        post_kind(run, SL_EVENT_BRAKES);
    }
    run->braked_s = now.braking ? at_s : run->braked_s;
    run->before.gear = now.gear == 0 ? before.gear : now.gear;
    if (!first && run->before.gear != before.gear) {
        post_kind(run, SL_EVENT_GEAR);
    }
    if (now.speed_mps <= 0 && before.speed_mps > 0) {
        run->line_reached = true; /* it goes no further by itself */
        post_kind(run, now.engine_rpm <= 0 ? SL_EVENT_STALLS : SL_EVENT_STANDS);
    } else if (now.distance_m <= 0 && before.distance_m > 0) {
        run->line_reached = true;
        post_kind(run, SL_EVENT_LINE);
    }
}
