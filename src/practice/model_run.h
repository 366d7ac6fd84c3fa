/*
 * A model run: the announcement, then the model commentary at the plan's pace, as sound.
 */
#ifndef SL_PRACTICE_MODEL_RUN_H
#define SL_PRACTICE_MODEL_RUN_H

#include "core/cueing.h"
#include "practice/cue_player.h"
#include "practice/cue_voice.h"
#include "sound/endpoint.h"

#include <stdbool.h>

/* Silence before the announcement and after the last phrase. */
#define SL_MODEL_LEAD_S 0.5
#define SL_MODEL_TAIL_S 1.0

#define SL_MODEL_NOISE_DBFS (-66.0) /* root mean square; more than 40 dB below the voice */

/* Initialise with {0}; release with sl_model_run_clear. */
struct sl_model_run {
    struct sl_cue_list cues; /* the announcement, then the phrases */
    struct sl_cue_player *player;
};

/*
 * Makes the model run of a junction. `cueing` needs no length: the voice's is taken. The voice must
 * outlive the run. Errors as sl_commentary_make and sl_cue_player_new.
 */
enum sl_status sl_model_run_make(const struct sl_cueing *cueing, struct sl_cue_voice *voice,
                                 bool road_tone, struct sl_model_run *run, struct sl_error *error);

/* Where the plan's time 0 lies in the run, in seconds from its start: the `from` of a mark. */
double sl_model_run_from_s(const struct sl_model_run *run);

/* From the start to the end of the silence after the last phrase. */
double sl_model_run_length_s(const struct sl_model_run *run);

/*
 * Writes the run to a sound file (.flac or .wav), whole or not at all. The noise of a quiet room,
 * SL_MODEL_NOISE_DBFS, is added, always the same: no recording has the digital silence that would
 * else be between the phrases, and recognisers are not made for it.
 */
enum sl_status sl_model_run_write(const struct sl_model_run *run, const char *path,
                                  struct sl_error *error);

/* Plays the run on an endpoint that was not started, to its end. SL_DEVICE when that goes away or
 * plays nothing for some seconds. */
enum sl_status sl_model_run_play(const struct sl_model_run *run, struct sl_endpoint *endpoint,
                                 struct sl_error *error);

void sl_model_run_clear(struct sl_model_run *run);

#endif
