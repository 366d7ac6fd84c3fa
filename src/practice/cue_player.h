/*
 * The cue player: what the speaker plays during one approach, frame by frame.
 *
 * Frames are numbered from 0, the start of the run, at SL_CLIP_RATE_HZ. The plan's time 0 (the end
 * of the announcement) is frame sl_cue_player_zero_frame; a cue that is due at t seconds begins at
 * exactly that frame + round(t * SL_CLIP_RATE_HZ). Frame n is a pure function of n: frames may be
 * rendered in pieces of any size, again, or from another thread. Cues whose time is not known
 * (at_s INFINITY) sound from when sl_cue_player_begin says so.
 */
#ifndef SL_PRACTICE_CUE_PLAYER_H
#define SL_PRACTICE_CUE_PLAYER_H

#include "core/cueing.h"
#include "core/plan.h"
#include "practice/cue_voice.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sl_cue_player;

struct sl_cue_player_setup {
    const struct sl_cue_list *cues; /* copied */
    struct sl_cue_voice *voice;     /* must outlive the player */
    const struct sl_plan *plan;     /* copied; for the road tone */
    double lead_s;                  /* silence before the first cue, 0 to 60 */
    bool road_tone;
};

/* Makes all clips. Errors as sl_cue_voice_clip; SL_INVALID for a lead out of range. */
enum sl_status sl_cue_player_new(const struct sl_cue_player_setup *setup,
                                 struct sl_cue_player **player, struct sl_error *error);

/* The frame of the plan's time 0. */
uint64_t sl_cue_player_zero_frame(const struct sl_cue_player *player);

/* One past the last frame that is not silent. */
uint64_t sl_cue_player_end_frame(const struct sl_cue_player *player);

/* The frame at which cue `index` of the list begins, and the one at which it has ended. */
uint64_t sl_cue_player_onset_frame(const struct sl_cue_player *player, size_t index);
uint64_t sl_cue_player_offset_frame(const struct sl_cue_player *player, size_t index);

/* Lets a cue whose time was not known begin at a frame that was not rendered yet. */
void sl_cue_player_begin(struct sl_cue_player *player, size_t index, uint64_t frame);

/* Renders frames `first` to `first + n - 1`. Neither allocates nor blocks. */
void sl_cue_player_render(const struct sl_cue_player *player, uint64_t first, int16_t *frames,
                          size_t n);

/* Whether a cue sounds anywhere in frames `from` to `to - 1` (the road tone does not count). */
bool sl_cue_player_sounds(const struct sl_cue_player *player, uint64_t from, uint64_t to);

/* NULL is fine. */
void sl_cue_player_free(struct sl_cue_player *player);

#endif
