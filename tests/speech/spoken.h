/*
 * Sounds for the tests of the recogniser and the listener, spoken by libflite; and comparing what
 * was heard in them. Included behind cmocka.h.
 */
#ifndef SL_TESTS_SPEECH_SPOKEN_H
#define SL_TESTS_SPEECH_SPOKEN_H

#include "core/heard.h"
#include "sound/speak.h"
#include "speech/recogniser.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* 16 kHz mono, grown while it is spoken. */
struct sound {
    int16_t *samples;
    size_t n;
};

static inline void extend(struct sound *sound, size_t n)
{
    sound->samples = realloc(sound->samples, (sound->n + n) * sizeof(*sound->samples));
    assert_non_null(sound->samples);
    sound->n += n;
}

/* Noise of this peak, the same at every call. */
static inline void add_noise(struct sound *sound, double seconds, int peak)
{
    size_t n = (size_t)(seconds * SL_SPEECH_RATE_HZ);
    uint32_t random = 1;
    extend(sound, n);
    for (size_t i = sound->n - n; i < sound->n; i++) {
        random = random * 1664525u + 1013904223u;
        sound->samples[i] = (int16_t)((int)(random >> 16) % (2 * peak + 1) - peak);
    }
}

/* Speaks and adds a pause; returns where the words start, in seconds. */
static inline double say(struct sound *sound, const char *text)
{
    struct sl_spoken spoken = {0};
    assert_int_equal(sl_speak("slt", text, NULL, &spoken, NULL), SL_OK);
    assert_int_equal(spoken.rate_hz, SL_SPEECH_RATE_HZ);
    double start_s = (double)(sound->n + spoken.speech_from) / SL_SPEECH_RATE_HZ;
    extend(sound, spoken.n_samples);
    memcpy(sound->samples + sound->n - spoken.n_samples, spoken.samples,
           spoken.n_samples * sizeof(*spoken.samples));
    free(spoken.samples);
    add_noise(sound, 0.7, 10);
    return start_s;
}

/* Plays what was spoken faster, in place: the voice of a smaller speaker, every frequency and the
 * pace times this. */
static inline void make_smaller(struct sound *sound, double factor)
{
    size_t n = (size_t)((double)sound->n / factor);
    for (size_t i = 0; i < n; i++) {
        double at = (double)i * factor;
        size_t left = (size_t)at;
        size_t right = left + 1 < sound->n ? left + 1 : left;
        double share = at - (double)left;
        sound->samples[i] =
            (int16_t)((1 - share) * sound->samples[left] + share * sound->samples[right]);
    }
    sound->n = n;
}

static inline void assert_same(const struct sl_heard_list *a, const struct sl_heard_list *b)
{
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++) {
        assert_int_equal(a->items[i].phase, b->items[i].phase);
        assert_string_equal(a->items[i].text, b->items[i].text);
        assert_true(a->items[i].start_s == b->items[i].start_s);
        assert_true(a->items[i].end_s == b->items[i].end_s);
        assert_true(a->items[i].confidence == b->items[i].confidence);
        assert_true(sl_settings_equal(&a->items[i].settings, &b->items[i].settings));
    }
}

#endif
