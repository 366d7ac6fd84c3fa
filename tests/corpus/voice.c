#include "voice.h"

#include "sound/speak.h"

#include <samplerate.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Speech is what is no more than this below the loudest frame. */
#define EDGE_DB (-40.0)
#define EDGE_FRAME (CORPUS_RATE_HZ / 200) /* 5 ms */

const char *corpus_split_word(enum corpus_split split)
{
    return split == CORPUS_TUNE ? "tune" : "judge";
}

#define PEOPLE_MOST 3
#define VOICES_MOST 3

/* The voices made of each person, libflite's first. */
static const char *const people[2][PEOPLE_MOST][VOICES_MOST] = {
    {{"kal16", "kal", "festival-kal"}, {"slt", "festival-slt"}},
    {{"awb"}, {"rms"}, {"festival-ked"}}};

static size_t count_voices(const char *const voices[VOICES_MOST], bool festival)
{
    size_t n = 0;
    while (n < VOICES_MOST && voices[n] != NULL && (festival || !corpus_festival_has(voices[n]))) {
        n++;
    }
    return n;
}

static const char *draw_base(struct corpus_rng *rng, const struct corpus_speakers *speakers)
{
    const char *const(*of_split)[VOICES_MOST] = people[speakers->split];
    bool festival = speakers->festival != NULL;
    size_t n_people = 0;
    while (n_people < PEOPLE_MOST && count_voices(of_split[n_people], festival) > 0) {
        n_people++;
    }
    size_t person = corpus_rng_below(rng, n_people);
    size_t n_voices = count_voices(of_split[person], festival);
    return of_split[person][n_voices > 1 ? corpus_rng_below(rng, n_voices) : 0];
}

struct corpus_voice corpus_voice_draw(struct corpus_rng *rng,
                                      const struct corpus_speakers *speakers)
{
    struct corpus_voice voice = {draw_base(rng, speakers), 1, 1, 1};
    if (!corpus_rng_chance(rng, 1.0 / 3)) {
        voice.pitch = corpus_rng_between(rng, 0.86, 1.16);
        voice.pace = corpus_rng_between(rng, 0.85, 1.2);
        voice.tract = corpus_rng_between(rng, 0.88, 1.12);
    }
    if (corpus_festival_has(voice.base) && !corpus_festival_shifts(voice.base)) {
        voice.pitch = voice.tract; /* both come from playing it faster or slower */
    }
    return voice;
}

/* To floats at CORPUS_RATE_HZ, played `tract` times as fast. */
static enum sl_status resample(const int16_t *spoken, size_t n, double ratio,
                               struct corpus_sound *sound, struct sl_error *error)
{
    size_t room = (size_t)((double)n * ratio) + 64;
    float *in = malloc(n * sizeof *in);
    float *out = malloc(room * sizeof *out);
    if (in == NULL || out == NULL) {
        free(in);
        free(out);
        return sl_fail_memory(error);
    }
    src_short_to_float_array(spoken, in, (int)n);
    SRC_DATA data = {.data_in = in,
                     .data_out = out,
                     .input_frames = (long)n,
                     .output_frames = (long)room,
                     .src_ratio = ratio};
    int failure = src_simple(&data, SRC_SINC_MEDIUM_QUALITY, 1);
    free(in);
    if (failure != 0) {
        free(out);
        return sl_fail(error, SL_UNSUPPORTED, "libsamplerate", NULL, "%s", src_strerror(failure));
    }
    *sound = (struct corpus_sound){out, (size_t)data.output_frames_gen};
    return SL_OK;
}

static double frame_power(const struct corpus_sound *sound, size_t frame)
{
    double sum = 0;
    for (size_t i = 0; i < EDGE_FRAME; i++) {
        double x = sound->samples[frame * EDGE_FRAME + i];
        sum += x * x;
    }
    return sum;
}

/* Cuts off what is silent at both ends: beyond the phones, which the voice tells us (`span`, in
 * samples), and before the burst of a first stop, which it does not. */
static void trim(const size_t span[2], struct corpus_sound *sound)
{
    size_t frames = sound->n / EDGE_FRAME;
    double most = 0;
    for (size_t i = 0; i < frames; i++) {
        most = fmax(most, frame_power(sound, i));
    }
    double least = most * pow(10, EDGE_DB / 10);
    size_t first = span[0] / EDGE_FRAME;
    while (first < frames && frame_power(sound, first) < least) {
        first++;
    }
    size_t last = span[1] / EDGE_FRAME + 1 < frames ? span[1] / EDGE_FRAME + 1 : frames;
    while (last > first && frame_power(sound, last - 1) < least) {
        last--;
    }
    sound->n = (last - first) * EDGE_FRAME;
    memmove(sound->samples, sound->samples + first * EDGE_FRAME, sound->n * sizeof(float));
}

enum sl_status corpus_voice_speak(const struct corpus_speakers *speakers,
                                  const struct corpus_voice *voice, const char *text,
                                  struct corpus_sound *sound, struct sl_error *error)
{
    /* Playing faster raises pitch and formants and shortens: the first and the last are undone. */
    struct sl_manner manner = {voice->tract / voice->pace, voice->pitch / voice->tract};
    struct sl_spoken spoken = {0};
    enum sl_status status =
        speakers->festival != NULL && corpus_festival_has(voice->base)
            ? corpus_festival_speak(speakers->festival, voice->base, text, &manner, &spoken, error)
            : sl_speak(voice->base, text, &manner, &spoken, error);
    if (status != SL_OK) {
        return status;
    }
    double ratio = (double)CORPUS_RATE_HZ / spoken.rate_hz / voice->tract;
    status = resample(spoken.samples, spoken.n_samples, ratio, sound, error);
    free(spoken.samples);
    if (status == SL_OK) {
        const size_t span[2] = {(size_t)((double)spoken.speech_from * ratio),
                                (size_t)((double)spoken.speech_to * ratio)};
        trim(span, sound);
    }
    return status;
}
