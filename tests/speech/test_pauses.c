#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/decoder.h"
#include "speech/pauses.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* White noise of a level, the same in every run; a voice is noise that is louder. */
struct source {
    uint32_t random;
};

static bool add(struct sl_pauses *pauses, struct source *source, double level_db)
{
    int16_t frame[SL_FRAME_SAMPLES];
    double peak = 32768 * pow(10, level_db / 20) * sqrt(3); /* of evenly spread values */
    for (size_t i = 0; i < SL_FRAME_SAMPLES; i++) {
        source->random = source->random * 1664525u + 1013904223u;
        double value = ((double)(source->random >> 8) / (1 << 23) - 1) * peak;
        frame[i] = (int16_t)lrint(value);
    }
    return sl_pauses_add(pauses, frame, SL_FRAME_SAMPLES);
}

/* Of `frames` of this level, how many are taken for a voice. */
static size_t count(struct sl_pauses *pauses, struct source *source, double level_db, size_t frames)
{
    size_t n = 0;
    for (size_t i = 0; i < frames; i++) {
        n += add(pauses, source, level_db);
    }
    return n;
}

static void a_voice_is_told_from_noise(void **state)
{
    static const struct row {
        const char *name;
        double noise_db, voice_db;
    } rows[] = {
        {"a quiet room", -68, -25},  {"a usual room", -55, -30},  {"a fan", -40, -22},
        {"a loud engine", -35, -25}, {"a quiet voice", -66, -46},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_pauses pauses;
        struct source source = {1};
        sl_pauses_start(&pauses);
        count(&pauses, &source, rows[i].noise_db, 400); /* the noise is known after 3 s */
        size_t noise = count(&pauses, &source, rows[i].noise_db, 200);
        size_t voice = count(&pauses, &source, rows[i].voice_db, 100);
        size_t after = count(&pauses, &source, rows[i].noise_db, 100);
        if (noise > 2 || voice < 98 || after > 6) {
            fail_msg("%s: %zu of 200, %zu of 100, %zu of 100", rows[i].name, noise, voice, after);
        }
        /* Voice less noise over noise, as power: by hand. */
        double wanted = 10 * log10(pow(10, (rows[i].voice_db - rows[i].noise_db) / 10) - 1);
        double snr_db = sl_pauses_snr_db(&pauses);
        if (wanted < 30 && fabs(snr_db - wanted) > 3.5) { /* the voice sinks 2 dB in a second */
            fail_msg("%s: %.1f dB, not %.1f", rows[i].name, snr_db, wanted);
        }
    }
}

static void a_voice_at_once_is_heard(void **state)
{
    (void)state;
    struct sl_pauses pauses;
    struct source source = {1};
    sl_pauses_start(&pauses);
    assert_true(count(&pauses, &source, -30, 50) >= 49);
}

static void noise_that_rises_is_learnt_in_three_seconds(void **state)
{
    (void)state;
    struct sl_pauses pauses;
    struct source source = {1};
    sl_pauses_start(&pauses);
    count(&pauses, &source, -60, 400);
    assert_true(count(&pauses, &source, -40, 100) > 50); /* may be a voice */
    count(&pauses, &source, -40, 300);
    assert_true(count(&pauses, &source, -40, 100) <= 2);
}

static void a_muted_stretch_teaches_nothing(void **state)
{
    (void)state;
    struct sl_pauses pauses;
    struct source source = {1};
    static const int16_t nothing[SL_FRAME_SAMPLES];
    sl_pauses_start(&pauses);
    count(&pauses, &source, -40, 400);
    for (int i = 0; i < 500; i++) {
        assert_false(sl_pauses_add(&pauses, nothing, SL_FRAME_SAMPLES) && i > 3);
    }
    assert_true(count(&pauses, &source, -40, 100) <= 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_voice_is_told_from_noise),
        cmocka_unit_test(a_voice_at_once_is_heard),
        cmocka_unit_test(noise_that_rises_is_learnt_in_three_seconds),
        cmocka_unit_test(a_muted_stretch_teaches_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
