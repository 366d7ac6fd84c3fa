#include "reading.h"

#include "recording.h"
#include "room.h"

#include "files/reading.h"

#include <stdlib.h>
#include <string.h>

#define PAUSE_SAMPLES ((size_t)CORPUS_RATE_HZ) /* before the first phrase and behind each */
#define SPEECH_RMS 0.08
#define HISS_RMS 0.0002 /* 52 dB below the speech */

/* Appends a phrase at the same loudness as the others, and a pause. */
static enum sl_status append(struct corpus_sound *all, const struct corpus_sound *phrase,
                             struct sl_error *error)
{
    size_t n = all->n + phrase->n + PAUSE_SAMPLES;
    float *samples = realloc(all->samples, n * sizeof *samples);
    if (samples == NULL) {
        return sl_fail_memory(error);
    }
    double gain = SPEECH_RMS / corpus_sound_rms(phrase);
    for (size_t i = 0; i < phrase->n; i++) {
        samples[all->n + i] = (float)(phrase->samples[i] * gain);
    }
    memset(samples + all->n + phrase->n, 0, PAUSE_SAMPLES * sizeof *samples);
    *all = (struct corpus_sound){samples, n};
    return SL_OK;
}

static enum sl_status speak(const struct corpus_speakers *speakers,
                            const struct corpus_voice *voice, const struct sl_reading *reading,
                            struct corpus_sound *all, struct sl_error *error)
{
    all->samples = calloc(PAUSE_SAMPLES, sizeof *all->samples);
    all->n = PAUSE_SAMPLES;
    enum sl_status status = all->samples == NULL ? sl_fail_memory(error) : SL_OK;
    for (size_t i = 0; i < reading->n && status == SL_OK; i++) {
        struct corpus_sound phrase = {0};
        status = corpus_voice_speak(speakers, voice, reading->phrases[i], &phrase, error);
        if (status == SL_OK) {
            status = append(all, &phrase, error);
        }
        free(phrase.samples);
    }
    return status;
}

enum sl_status corpus_reading_make(const struct corpus_speakers *speakers,
                                   const struct corpus_voice *voice, const char *path,
                                   struct sl_error *error)
{
    struct sl_reading reading = {0};
    struct corpus_sound sound = {0};
    struct corpus_rng rng;
    corpus_rng_init(&rng, 1);
    enum sl_status status = sl_reading_load(&reading, error);
    if (status == SL_OK) {
        status = speak(speakers, voice, &reading, &sound, error);
    }
    if (status == SL_OK) {
        struct corpus_background hiss = {.kind = CORPUS_NOISE_NONE, .rms = HISS_RMS};
        status = corpus_room_noise(&rng, &hiss, &sound, error);
    }
    if (status == SL_OK) {
        status = corpus_recording_sound(&sound, path, error);
    }
    free(sound.samples);
    sl_reading_clear(&reading);
    return status;
}
