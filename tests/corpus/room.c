#include "room.h"

#include "script.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BABBLE_TALKERS 4
#define TWO_PI 6.283185307179586

const char *corpus_noise_word(enum corpus_noise noise)
{
    static const char *const words[] = {"none", "car", "fan", "babble"};
    return words[noise];
}

double corpus_sound_rms(const struct corpus_sound *sound)
{
    double sum = 0;
    for (size_t i = 0; i < sound->n; i++) {
        sum += (double)sound->samples[i] * sound->samples[i];
    }
    return sound->n == 0 ? 0 : sqrt(sum / (double)sound->n);
}

/* Road and engine: most of it below 300 Hz, a little of everything, swelling slowly. */
static void fill_car(struct corpus_rng *rng, struct corpus_sound *noise)
{
    double pole = exp(-TWO_PI * 250 / CORPUS_RATE_HZ);
    double swell_hz = corpus_rng_between(rng, 0.05, 0.2);
    double low = 0;
    for (size_t i = 0; i < noise->n; i++) {
        double white = corpus_rng_normal(rng);
        low = pole * low + (1 - pole) * white;
        double swell = 1 + 0.2 * sin(TWO_PI * swell_hz * (double)i / CORPUS_RATE_HZ);
        noise->samples[i] = (float)((low + 0.03 * white) * swell);
    }
}

/* A fan: broad noise that falls above 1.5 kHz, and the hum of its motor. */
static void fill_fan(struct corpus_rng *rng, struct corpus_sound *noise)
{
    double pole = exp(-TWO_PI * 1500 / CORPUS_RATE_HZ);
    double hum_hz = corpus_rng_between(rng, 95, 125);
    double low = 0;
    for (size_t i = 0; i < noise->n; i++) {
        low = pole * low + (1 - pole) * corpus_rng_normal(rng);
        double hum = sin(TWO_PI * hum_hz * (double)i / CORPUS_RATE_HZ);
        noise->samples[i] = (float)(low + 0.15 * hum);
    }
}

static void fill_white(struct corpus_rng *rng, struct corpus_sound *noise)
{
    for (size_t i = 0; i < noise->n; i++) {
        noise->samples[i] = (float)corpus_rng_normal(rng);
    }
}

/* One of several people who talk without a pause about something else. */
static enum sl_status add_talker(struct corpus_rng *rng, const struct corpus_speakers *speakers,
                                 struct corpus_sound *noise, struct sl_error *error)
{
    struct corpus_voice voice = corpus_voice_draw(rng, speakers);
    size_t at = 0;
    while (at < noise->n) {
        struct corpus_sound said = {0};
        enum sl_status status =
            corpus_voice_speak(speakers, &voice, corpus_script_off_topic(rng), &said, error);
        if (status != SL_OK) {
            return status;
        }
        for (size_t i = 0; i < said.n && at < noise->n; i++) {
            noise->samples[at++] += said.samples[i];
        }
        free(said.samples);
    }
    return SL_OK;
}

static enum sl_status fill(struct corpus_rng *rng, const struct corpus_background *background,
                           struct corpus_sound *noise, struct sl_error *error)
{
    switch (background->kind) {
    case CORPUS_NOISE_CAR:
        fill_car(rng, noise);
        return SL_OK;
    case CORPUS_NOISE_FAN:
        fill_fan(rng, noise);
        return SL_OK;
    case CORPUS_NOISE_BABBLE:
        for (int i = 0; i < BABBLE_TALKERS; i++) {
            enum sl_status status = add_talker(rng, &background->speakers, noise, error);
            if (status != SL_OK) {
                return status;
            }
        }
        return SL_OK;
    default:
        fill_white(rng, noise);
        return SL_OK;
    }
}

enum sl_status corpus_room_noise(struct corpus_rng *rng, const struct corpus_background *background,
                                 struct corpus_sound *sound, struct sl_error *error)
{
    struct corpus_sound noise = {calloc(sound->n, sizeof(float)), sound->n};
    if (noise.samples == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = fill(rng, background, &noise, error);
    double rms = corpus_sound_rms(&noise);
    double gain = rms > 0 ? background->rms / rms : 0;
    for (size_t i = 0; status == SL_OK && i < sound->n; i++) {
        sound->samples[i] += (float)(gain * noise.samples[i]);
    }
    free(noise.samples);
    return status;
}

static void add_taps(struct corpus_rng *rng, struct corpus_sound *sound)
{
    for (int tap = 0; tap < 3; tap++) {
        size_t delay = (size_t)(corpus_rng_between(rng, 0.002, 0.025) * CORPUS_RATE_HZ);
        float gain = (float)corpus_rng_between(rng, 0.08, 0.3);
        for (size_t i = sound->n; i-- > delay;) {
            sound->samples[i] += gain * sound->samples[i - delay];
        }
    }
}

#define GRID ((size_t)8)       /* samples, in each of which one reflection lies */
#define FIRST_S 0.004          /* of the tail, after the direct sound */
#define TAIL_DB 60.0           /* to which the tail is followed */
#define NEPERS_A_DB 0.11512925 /* ln(10) / 20 */

/* Fills `tail`, one reflection in each GRID samples, with the energy that is wanted. */
static void fill_tail(struct corpus_rng *rng, double t60_s, double direct_db, float *tail, size_t n)
{
    double energy = 0;
    double fall = TAIL_DB * NEPERS_A_DB / (t60_s * CORPUS_RATE_HZ);
    for (size_t from = 0; from + GRID <= n; from += GRID) {
        size_t at = from + corpus_rng_below(rng, GRID);
        double height = exp(-fall * (double)at);
        energy += height * height;
        tail[at] = (float)(corpus_rng_chance(rng, 0.5) ? height : -height);
    }
    double gain = sqrt(pow(10, -direct_db / 10) / energy);
    for (size_t i = 0; i < n; i++) {
        tail[i] *= (float)gain;
    }
}

enum sl_status corpus_room_reverb(struct corpus_rng *rng, double t60_s, double direct_db,
                                  struct corpus_sound *sound, struct sl_error *error)
{
    size_t n = (size_t)(t60_s * CORPUS_RATE_HZ) / GRID * GRID;
    size_t first = (size_t)(FIRST_S * CORPUS_RATE_HZ);
    float *tail = calloc(n + 1, sizeof *tail);
    float *dry = malloc((sound->n + 1) * sizeof *dry);
    if (tail == NULL || dry == NULL) {
        free(tail);
        free(dry);
        return sl_fail_memory(error);
    }
    fill_tail(rng, t60_s, direct_db, tail, n);
    memcpy(dry, sound->samples, sound->n * sizeof *dry);
    for (size_t k = 0; k < n; k++) {
        float height = tail[k];
        for (size_t i = first + k; height != 0 && i < sound->n; i++) {
            sound->samples[i] += height * dry[i - first - k];
        }
    }
    free(tail);
    free(dry);
    return SL_OK;
}

const char *corpus_room_word(enum corpus_room room)
{
    static const char *const words[] = {"dry", "near", "cabin", "living"};
    return words[room];
}

enum sl_status corpus_room_echo(struct corpus_rng *rng, enum corpus_room room,
                                struct corpus_sound *sound, struct sl_error *error)
{
    if (room == CORPUS_ROOM_DRY) {
        return SL_OK;
    }
    if (room == CORPUS_ROOM_NEAR) {
        add_taps(rng, sound);
        return SL_OK;
    }
    bool cabin = room == CORPUS_ROOM_CABIN;
    double t60_s = cabin ? corpus_rng_between(rng, 0.06, 0.12) : corpus_rng_between(rng, 0.25, 0.5);
    double direct_db = cabin ? corpus_rng_between(rng, 6, 10) : corpus_rng_between(rng, 3, 8);
    return corpus_room_reverb(rng, t60_s, direct_db, sound, error);
}

void corpus_room_mumble(struct corpus_rng *rng, struct corpus_sound *sound)
{
    double rms = corpus_sound_rms(sound);
    double pole = exp(-TWO_PI * 500 / CORPUS_RATE_HZ);
    double low = 0;
    for (size_t i = 0; i < sound->n; i++) {
        low = pole * low + (1 - pole) * sound->samples[i];
        sound->samples[i] = (float)(low + 0.7 * rms * corpus_rng_normal(rng));
    }
}
