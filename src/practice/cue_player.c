#include "practice/cue_player.h"

#include "core/road_tone.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A clip at its place in the stream. */
struct placed {
    uint64_t onset, end; /* NEVER: not known yet */
    uint64_t n;
    const int16_t *samples; /* belongs to the voice */
};

#define NEVER UINT64_MAX

struct sl_cue_player {
    struct sl_plan plan;
    struct placed *cues; /* in the order of the list */
    size_t n_cues;
    uint64_t zero;
    uint64_t end;
    bool road_tone;
};

static double frames_of(double time_s)
{
    return round(time_s * SL_CLIP_RATE_HZ);
}

static enum sl_status place(struct sl_cue_player *player, const struct sl_cue *cue,
                            struct sl_cue_voice *voice, struct sl_error *error)
{
    const struct sl_clip *clip = NULL;
    enum sl_status status = sl_cue_voice_clip(voice, cue->text, &clip, error);
    if (status != SL_OK) {
        return status;
    }
    struct placed *placed = &player->cues[player->n_cues++];
    *placed = (struct placed){NEVER, NEVER, clip->n, clip->samples};
    if (isfinite(cue->at_s)) {
        uint64_t frame = (uint64_t)((double)player->zero + frames_of(cue->at_s));
        sl_cue_player_begin(player, player->n_cues - 1, frame);
    }
    return SL_OK;
}

void sl_cue_player_begin(struct sl_cue_player *player, size_t index, uint64_t frame)
{
    struct placed *placed = &player->cues[index];
    placed->onset = frame;
    placed->end = frame + placed->n;
    player->end = placed->end > player->end ? placed->end : player->end;
}

/* Frames before the plan's time 0. */
static uint64_t frames_before(const struct sl_cue_player_setup *setup)
{
    double first_s = setup->cues->count > 0 ? fmin(setup->cues->items[0].at_s, 0) : 0;
    return (uint64_t)(frames_of(setup->lead_s) - frames_of(first_s));
}

enum sl_status sl_cue_player_new(const struct sl_cue_player_setup *setup,
                                 struct sl_cue_player **player, struct sl_error *error)
{
    if (!(setup->lead_s >= 0 && setup->lead_s <= 60)) {
        return sl_fail(error, SL_INVALID, NULL, "take 0 to 60 s",
                       "a silence of %g s before the first cue is not possible", setup->lead_s);
    }
    struct sl_cue_player *made = calloc(1, sizeof *made);
    struct placed *cues = calloc(setup->cues->count + 1, sizeof *cues);
    if (made == NULL || cues == NULL) {
        free(made);
        free(cues);
        return sl_fail_memory(error);
    }
    *made = (struct sl_cue_player){.plan = *setup->plan,
                                   .cues = cues,
                                   .zero = frames_before(setup),
                                   .road_tone = setup->road_tone};
    made->end = made->zero;
    if (made->road_tone) {
        made->end += (uint64_t)frames_of(setup->plan->line_s);
    }
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < setup->cues->count && status == SL_OK; i++) {
        status = place(made, &setup->cues->items[i], setup->voice, error);
    }
    if (status != SL_OK) {
        sl_cue_player_free(made);
        return status;
    }
    *player = made;
    return SL_OK;
}

void sl_cue_player_free(struct sl_cue_player *player)
{
    if (player != NULL) {
        free(player->cues);
        free(player);
    }
}

uint64_t sl_cue_player_zero_frame(const struct sl_cue_player *player)
{
    return player->zero;
}

uint64_t sl_cue_player_end_frame(const struct sl_cue_player *player)
{
    return player->end;
}

uint64_t sl_cue_player_onset_frame(const struct sl_cue_player *player, size_t index)
{
    return player->cues[index].onset;
}

uint64_t sl_cue_player_offset_frame(const struct sl_cue_player *player, size_t index)
{
    return player->cues[index].end;
}

static int16_t sum(int16_t a, double b)
{
    return (int16_t)lround(fmax(fmin(a + b, INT16_MAX), INT16_MIN));
}

/* Adds the part of a placed clip that lies in the frames. */
static void mix_clip(const struct placed *cue, uint64_t first, int16_t *frames, size_t n)
{
    uint64_t from = cue->onset > first ? cue->onset : first;
    uint64_t to = cue->end < first + n ? cue->end : first + n;
    for (uint64_t frame = from; frame < to; frame++) {
        int16_t *out = &frames[frame - first];
        *out = sum(*out, cue->samples[frame - cue->onset]);
    }
}

static void mix_tone(const struct sl_cue_player *player, uint64_t first, int16_t *frames, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        double at_s = ((double)(first + i) - (double)player->zero) / SL_CLIP_RATE_HZ;
        frames[i] = sum(frames[i], INT16_MAX * sl_road_tone(&player->plan, at_s));
    }
}

void sl_cue_player_render(const struct sl_cue_player *player, uint64_t first, int16_t *frames,
                          size_t n)
{
    memset(frames, 0, n * sizeof *frames);
    for (size_t i = 0; i < player->n_cues; i++) {
        mix_clip(&player->cues[i], first, frames, n);
    }
    if (player->road_tone && first < player->end) {
        mix_tone(player, first, frames, n);
    }
}

bool sl_cue_player_sounds(const struct sl_cue_player *player, uint64_t from, uint64_t to)
{
    for (size_t i = 0; i < player->n_cues; i++) {
        if (player->cues[i].onset < to && from < player->cues[i].end) {
            return true;
        }
    }
    return false;
}
