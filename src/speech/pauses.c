#include "speech/pauses.h"

#include <math.h>

#define FULL_SCALE 32768.0
#define FLOOR_DB (-120.0)
#define MUTED_DB (-100.0)       /* below it there is no microphone at work: nothing to learn */
#define QUIETEST_DB (-70.0)     /* no room is quieter; else the breath of a good one is speech */
#define FIRST_NOISE_DB (-65.0)  /* until the noise is known */
#define FIRST_VOICE_DB (-35.0)  /* until a voice was heard */
#define SPAN_FRAMES 50          /* half a second */
#define NOISE_ABOVE_LEAST_DB 2  /* a noise's mean level is about this much over its least one */
#define VOICE_SINKS_DB 0.02     /* a frame: 2 dB a second */
#define VOICE_ABOVE_NOISE_DB 10 /* at least */
#define SPEECH_SHARE 0.4        /* of the way from noise to voice, as in activity.c */
#define LEAST_STEP_DB 4.0
#define MOST_STEP_DB 15.0 /* so that the end of a loud voice's words is still speech */
#define MOST_SNR_DB 100.0

void sl_pauses_start(struct sl_pauses *pauses)
{
    *pauses = (struct sl_pauses){.noise_db = FIRST_NOISE_DB, .voice_db = FIRST_VOICE_DB};
    for (size_t i = 0; i < SL_PAUSES_SPANS; i++) {
        pauses->least_db[i] = FIRST_NOISE_DB - NOISE_ABOVE_LEAST_DB;
    }
}

static double db_from_power(double power)
{
    return power > 0 ? fmax(10 * log10(power), FLOOR_DB) : FLOOR_DB;
}

/* Mean power of the last frames with this one. */
static double smooth(struct sl_pauses *pauses, const int16_t *samples, size_t n_samples)
{
    double sum = 0;
    for (size_t i = 0; i < n_samples; i++) {
        sum += (double)samples[i] * samples[i];
    }
    double power = n_samples > 0 ? sum / ((double)n_samples * FULL_SCALE * FULL_SCALE) : 0;
    pauses->power[pauses->n_frames % SL_PAUSES_SMOOTHED] = power;
    size_t n =
        pauses->n_frames + 1 < SL_PAUSES_SMOOTHED ? pauses->n_frames + 1 : SL_PAUSES_SMOOTHED;
    double mean = 0;
    for (size_t i = 0; i < n; i++) {
        mean += pauses->power[i] / (double)n;
    }
    return mean;
}

static void follow_noise(struct sl_pauses *pauses, double level_db)
{
    double *least_db = pauses->least_db;
    if (pauses->n_frames % SPAN_FRAMES == 0) {
        for (size_t i = SL_PAUSES_SPANS - 1; i > 0; i--) {
            least_db[i] = least_db[i - 1];
        }
        least_db[0] = level_db;
    }
    least_db[0] = fmin(least_db[0], level_db);
    double least = least_db[0];
    for (size_t i = 1; i < SL_PAUSES_SPANS; i++) {
        least = fmin(least, least_db[i]);
    }
    pauses->noise_db = fmax(least, QUIETEST_DB) + NOISE_ABOVE_LEAST_DB;
}

bool sl_pauses_add(struct sl_pauses *pauses, const int16_t *samples, size_t n_samples)
{
    double level_db = db_from_power(smooth(pauses, samples, n_samples));
    if (level_db > MUTED_DB) {
        follow_noise(pauses, level_db);
    }
    pauses->n_frames++;
    pauses->voice_db = fmax(fmax(level_db, pauses->voice_db - VOICE_SINKS_DB),
                            pauses->noise_db + VOICE_ABOVE_NOISE_DB);
    double step_db = SPEECH_SHARE * (pauses->voice_db - pauses->noise_db);
    return level_db > pauses->noise_db + fmin(fmax(step_db, LEAST_STEP_DB), MOST_STEP_DB);
}

double sl_pauses_snr_db(const struct sl_pauses *pauses)
{
    double ratio = pow(10, (pauses->voice_db - pauses->noise_db) / 10) - 1;
    return ratio > 1 ? fmin(10 * log10(ratio), MOST_SNR_DB) : 0;
}
