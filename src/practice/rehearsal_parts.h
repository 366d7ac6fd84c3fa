/*
 * What the parts of a rehearsal share: rehearsal.c (the calling thread), rehearsal_sound.c (the
 * sound's thread), rehearsal_writer.c (the recording's and the ear's thread).
 */
#ifndef SL_PRACTICE_REHEARSAL_PARTS_H
#define SL_PRACTICE_REHEARSAL_PARTS_H

#include "practice/cue_player.h"
#include "practice/event_queue.h"
#include "practice/frame_queue.h"
#include "practice/rehearsal.h"
#include "sound/sound_stream.h"

#include <stdatomic.h>

struct sl_rehearsal_run_state {
    const struct sl_rehearsal *setup;
    struct sl_cue_list cues;
    struct sl_cue_player *player;
    struct sl_frame_queue *to_record, *to_hear; /* to_hear NULL: nobody listens live */
    struct sl_event_queue *events;

    /* Between threads. */
    atomic_bool disk_failed, no_memory;
    atomic_long from_ms; /* from_s once announced; negative before */
    atomic_uint said;    /* a bit for each phase that the live ear heard clearly */

    /* The recording's thread, until it is joined. */
    struct sl_sound_stream *stream;
    struct sl_error disk_error;
    bool made_recording; /* the file is ours */

    /* The sound's thread, until it is joined; from_s also for whoever took the announced event. */
    struct sl_echo *echo; /* NULL: no echo */
    int16_t mic[SL_ECHO_BLOCK];
    size_t n_mic;               /* frames of the block at hand */
    uint64_t captured, written; /* frames worked on, frames given to the speaker */
    double from_s;              /* best known so far; fixed once announced */
    double end_s;               /* on the plan's clock */
    bool announced, line_reached, half_duplex, told_behind;
    size_t n_timed; /* cues with a moment of the plan; the driven car brings the others */
    size_t next_cue, next_call;    /* cues with a moment; those that the driven car brings */
    struct sl_drive_sample before; /* the driven car at the block before */
    double braked_s;               /* when it braked last */
    double ahead_s;                /* how long its sound is made before the device takes it */
    uint64_t starved;              /* frames, when that was found long enough */
    bool opened[SL_PHASE_MAX], closed[SL_PHASE_MAX];
    double level_sum; /* of squares over the tenth of a second at hand */
    unsigned level_blocks;
    bool clipped;
    struct sl_endpoint_facts facts; /* as last seen */
    double idle_s;                  /* since the last frame came */
    enum sl_rehearsal_end end;
};

/* Threads; the argument is the state. */
void *sl_rehearsal_sound_thread(void *state);
void *sl_rehearsal_record_thread(void *state);
void *sl_rehearsal_hear_thread(void *state);

/* Puts an event into the queue; memory that ran out ends the run. */
void sl_rehearsal_post(struct sl_rehearsal_run_state *run, const struct sl_event *event);

/* The same with the moment, and where the car is; the sound's thread. */
void sl_rehearsal_post_now(struct sl_rehearsal_run_state *run, struct sl_event event);

/* Gives the speaker as much as it is to have. */
void sl_rehearsal_feed_speaker(struct sl_rehearsal_run_state *run);

/* What the driven car does by now: events, calls where it is; the sound's thread. */
void sl_rehearsal_follow_car(struct sl_rehearsal_run_state *run, double at_s);

#endif
