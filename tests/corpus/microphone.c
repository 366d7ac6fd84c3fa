#include "microphone.h"

#include <samplerate.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.141592653589793
#define PHONE_RATIO 0.5 /* 8 kHz of 16 */

const char *corpus_microphone_word(enum corpus_microphone microphone)
{
    static const char *const words[] = {"flat", "laptop", "phone"};
    return words[microphone];
}

/*
 * A Butterworth section of the second order, by the bilinear transform with the edge kept in its
 * place. `q` 0.7071 for a filter of the second order, 0.5412 and 1.3066 for the two sections of one
 * of the fourth (the poles of the Butterworth circle).
 */
static void pass(double edge_hz, double q, bool high, struct corpus_sound *sound)
{
    double k = tan(PI * edge_hz / CORPUS_RATE_HZ);
    double scale = 1 / (1 + k / q + k * k);
    double b = high ? scale : k * k * scale;
    double middle = high ? -2 * b : 2 * b;
    double a1 = 2 * (k * k - 1) * scale;
    double a2 = (1 - k / q + k * k) * scale;
    double s1 = 0;
    double s2 = 0;
    for (size_t i = 0; i < sound->n; i++) {
        double x = sound->samples[i];
        double y = b * x + s1;
        s1 = middle * x - a1 * y + s2;
        s2 = b * x - a2 * y;
        sound->samples[i] = (float)y;
    }
}

static void pass_steeply(double edge_hz, bool high, struct corpus_sound *sound)
{
    pass(edge_hz, 0.5412, high, sound);
    pass(edge_hz, 1.3066, high, sound);
}

/* `from` resampled into `to`, whose end is silent where nothing comes. */
static enum sl_status resample(const struct corpus_sound *from, struct corpus_sound *to,
                               double ratio, struct sl_error *error)
{
    SRC_DATA data = {.data_in = from->samples,
                     .data_out = to->samples,
                     .input_frames = (long)from->n,
                     .output_frames = (long)to->n,
                     .src_ratio = ratio};
    int failure = src_simple(&data, SRC_SINC_MEDIUM_QUALITY, 1);
    return failure == 0
               ? SL_OK
               : sl_fail(error, SL_UNSUPPORTED, "libsamplerate", NULL, "%s", src_strerror(failure));
}

static enum sl_status sample_at_8_khz(struct corpus_sound *sound, struct sl_error *error)
{
    struct corpus_sound half = {.n = sound->n / 2 + 1};
    half.samples = calloc(half.n, sizeof *half.samples);
    if (half.samples == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = resample(sound, &half, PHONE_RATIO, error);
    if (status == SL_OK) {
        memset(sound->samples, 0, sound->n * sizeof *sound->samples);
        status = resample(&half, sound, 1 / PHONE_RATIO, error);
    }
    free(half.samples);
    return status;
}

enum sl_status corpus_microphone_apply(enum corpus_microphone microphone,
                                       struct corpus_sound *sound, struct sl_error *error)
{
    if (microphone == CORPUS_MICROPHONE_LAPTOP) {
        pass(180, 0.7071, true, sound);
        pass(6500, 0.7071, false, sound);
    }
    if (microphone == CORPUS_MICROPHONE_PHONE) {
        pass_steeply(300, true, sound);
        pass_steeply(3400, false, sound);
        return sample_at_8_khz(sound, error);
    }
    return SL_OK;
}
