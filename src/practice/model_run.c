#include "practice/model_run.h"

#include "core/commentary.h"
#include "sound/sound_writer.h"

#include <math.h>

#define BLOCK 4096
#define STILL_MOST 50 /* of 0.1 s */

/* Announcement and phrases in one list. */
static enum sl_status make_cues(const struct sl_cueing *cueing, struct sl_cue_list *cues,
                                struct sl_error *error)
{
    struct sl_cue_list phrases = {0};
    enum sl_status status = sl_cues_make(cueing, SL_PROMPTING_NONE, cues, error);
    if (status == SL_OK) {
        status = sl_commentary_make(cueing, &phrases, error);
    }
    for (size_t i = 0; i < phrases.count && status == SL_OK; i++) {
        status = sl_cue_list_add(cues, &phrases.items[i], error);
    }
    sl_cue_list_clear(&phrases);
    return status;
}

enum sl_status sl_model_run_make(const struct sl_cueing *cueing, struct sl_cue_voice *voice,
                                 bool road_tone, struct sl_model_run *run, struct sl_error *error)
{
    struct sl_model_run made = {0};
    struct sl_cueing timed = *cueing;
    timed.length_s = sl_cue_voice_length_s;
    timed.user = voice;
    enum sl_status status = make_cues(&timed, &made.cues, error);
    if (status == SL_OK) {
        struct sl_cue_player_setup setup = {.cues = &made.cues,
                                            .voice = voice,
                                            .plan = cueing->plan,
                                            .lead_s = SL_MODEL_LEAD_S,
                                            .road_tone = road_tone};
        status = sl_cue_player_new(&setup, &made.player, error);
    }
    if (status != SL_OK) {
        sl_model_run_clear(&made);
        return status;
    }
    sl_model_run_clear(run);
    *run = made;
    return SL_OK;
}

double sl_model_run_from_s(const struct sl_model_run *run)
{
    return (double)sl_cue_player_zero_frame(run->player) / SL_CLIP_RATE_HZ;
}

static uint64_t frames_of(const struct sl_model_run *run)
{
    return sl_cue_player_end_frame(run->player) +
           (uint64_t)round(SL_MODEL_TAIL_S * SL_CLIP_RATE_HZ);
}

double sl_model_run_length_s(const struct sl_model_run *run)
{
    return (double)frames_of(run) / SL_CLIP_RATE_HZ;
}

/* Adds white noise, uniform: its root mean square is its amplitude / sqrt 3. */
static void add_noise(int16_t *samples, size_t n, uint32_t *state)
{
    double amplitude = INT16_MAX * pow(10, SL_MODEL_NOISE_DBFS / 20) * sqrt(3);
    for (size_t i = 0; i < n; i++) {
        *state = *state * 1664525U + 1013904223U; /* Numerical Recipes' generator */
        double noise = amplitude * ((double)(*state >> 8) / (1 << 23) - 1);
        samples[i] = (int16_t)lround(fmax(fmin(samples[i] + noise, INT16_MAX), INT16_MIN));
    }
}

enum sl_status sl_model_run_write(const struct sl_model_run *run, const char *path,
                                  struct sl_error *error)
{
    struct sl_sound_writer *writer = NULL;
    enum sl_status status = sl_sound_create(path, SL_CLIP_RATE_HZ, &writer, error);
    if (status != SL_OK) {
        return status;
    }
    uint64_t end = frames_of(run);
    int16_t block[BLOCK];
    uint32_t noise = 1;
    for (uint64_t done = 0; done < end && status == SL_OK;) {
        size_t n = end - done < BLOCK ? (size_t)(end - done) : BLOCK;
        sl_cue_player_render(run->player, done, block, n);
        add_noise(block, n, &noise);
        status = sl_sound_write(writer, block, n, error);
        done += n;
    }
    if (status != SL_OK) {
        sl_sound_abandon(writer);
        return status;
    }
    return sl_sound_finish(writer, error);
}

/* Fills the endpoint's room and throws away what it captured. */
static uint64_t feed(const struct sl_model_run *run, struct sl_endpoint *endpoint, uint64_t done)
{
    int16_t block[BLOCK];
    size_t room = sl_endpoint_writable(endpoint);
    while (room > 0) {
        size_t n = room < BLOCK ? room : BLOCK;
        sl_cue_player_render(run->player, done, block, n);
        n = sl_endpoint_write(endpoint, block, n);
        done += n;
        room = n > 0 ? sl_endpoint_writable(endpoint) : 0;
    }
    while (sl_endpoint_read(endpoint, block, BLOCK) > 0) {
    }
    return done;
}

enum sl_status sl_model_run_play(const struct sl_model_run *run, struct sl_endpoint *endpoint,
                                 struct sl_error *error)
{
    uint64_t end = frames_of(run);
    uint64_t played = 0;
    uint64_t done = feed(run, endpoint, 0);
    int still = 0; /* rounds in which nothing was played */
    enum sl_status status = sl_endpoint_start(endpoint, error);
    while (status == SL_OK && played < end) {
        (void)sl_endpoint_wait(endpoint, SL_SOUND_RATE_HZ / 20, 0.1);
        struct sl_endpoint_facts facts = sl_endpoint_facts(endpoint);
        still = facts.played > played ? 0 : still + 1;
        played = facts.played;
        if (facts.state == SL_ENDPOINT_GONE || still > STILL_MOST) {
            status = sl_fail(error, SL_DEVICE, "speaker", "check that it is plugged in",
                             "the speaker plays no sound any more");
        }
        done = feed(run, endpoint, done);
    }
    sl_endpoint_stop(endpoint);
    return status;
}

void sl_model_run_clear(struct sl_model_run *run)
{
    sl_cue_list_clear(&run->cues);
    sl_cue_player_free(run->player);
    *run = (struct sl_model_run){0};
}
