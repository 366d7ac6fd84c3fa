/*
 * Levels are checked against what is known without measuring. A sine of amplitude A has the root
 * mean square A / sqrt 2, uniform noise in [-A, A] has A / sqrt 3, a square wave A. The core's
 * levels come in whole decibels, so half a decibel is the tolerance.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/levels.h"
#include "core/units.h"
#include "support/random.h"

#include <math.h>
#include <stdlib.h>

#define RATE_HZ 16000

struct sound {
    struct sl_levels levels;
    uint64_t random;
    size_t at; /* samples so far */
};

static struct sound new_sound(void)
{
    struct sound sound = {.random = 1};
    sl_levels_init(&sound.levels, RATE_HZ);
    return sound;
}

/* Adds a 1 kHz sine with uniform noise over it. */
static void add_sound(struct sound *sound, double seconds, double sine, double noise)
{
    size_t n = (size_t)lround(seconds * RATE_HZ);
    for (size_t i = 0; i < n; i++) {
        double uniform = 2 * random_share(&sound->random) - 1;
        double phase = 2 * SL_PI * 1000 * (double)sound->at++ / RATE_HZ;
        float sample = (float)(sine * sin(phase) + noise * uniform);
        sl_levels_add(&sound->levels, &sample, 1);
    }
}

static double amplitude(double db)
{
    return pow(10, db / 20);
}

static void a_sine_has_its_analytic_level(void **state)
{
    (void)state;
    static const struct {
        double peak_db, rms_db;
    } rows[] = {
        {0, -3.0103}, /* full scale; 0 dBFS in AES17's convention (from memory) */
        {-6.0206, -9.0309},
        /* the tone of EBU Tech 3341 case 1 (1 kHz, peaks at -23 dBFS; secondary copy) */
        {-23, -26.0103},
        {-60, -63.0103},
        {-100, -103.0103},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sound sound = new_sound();
        add_sound(&sound, 2, amplitude(rows[i].peak_db), 0);
        struct sl_level_report report = sl_levels_report(&sound.levels);
        assert_float_equal(report.speech_db, rows[i].rms_db, 0.5);
        assert_float_equal(report.noise_db, rows[i].rms_db, 0.5);
        assert_float_equal(report.peak_db, rows[i].peak_db, 0.01);
        assert_float_equal(report.duration_s, 2, 1e-9);
    }
}

static void noise_has_its_analytic_level(void **state)
{
    (void)state;
    struct sound sound = new_sound();
    add_sound(&sound, 5, 0, 0.1);
    struct sl_level_report report = sl_levels_report(&sound.levels);
    /* 20 log10(0.1 / sqrt 3); frames of 320 samples scatter by 0.2 dB */
    assert_float_equal(report.speech_db, -24.77, 1);
    assert_float_equal(report.noise_db, -24.77, 1);
}

static void a_square_wave_at_full_scale_has_0_db_and_is_clipped(void **state)
{
    (void)state;
    struct sl_levels levels;
    sl_levels_init(&levels, RATE_HZ);
    for (size_t i = 0; i < 8000; i++) {
        float sample = i / 40 % 2 == 0 ? 1.0F : -1.0F;
        sl_levels_add(&levels, &sample, 1);
    }
    struct sl_level_report report = sl_levels_report(&levels);
    assert_float_equal(report.speech_db, 0, 1e-9);
    assert_float_equal(report.peak_db, 0, 1e-9);
    assert_float_equal(report.clipped_share, 1, 1e-9);
    assert_true((report.notices & SL_NOTICE_CLIPPED) != 0);
}

static void only_runs_at_full_scale_are_clipped(void **state)
{
    (void)state;
    static const struct {
        size_t run, clipped;
    } rows[] = {{1, 0}, {2, 0}, {3, 3}, {4, 4}, {50, 50}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_levels levels;
        sl_levels_init(&levels, RATE_HZ);
        for (size_t j = 0; j < 1000; j++) {
            float sample = j >= 300 && j < 300 + rows[i].run ? 0.9995F : 0.998F;
            sl_levels_add(&levels, &sample, 1);
        }
        struct sl_level_report report = sl_levels_report(&levels);
        assert_float_equal(report.clipped_share, (double)rows[i].clipped / 1000, 1e-9);
    }
}

static void clipping_is_noticed_above_half_a_thousandth(void **state)
{
    (void)state;
    for (size_t share = 4; share <= 6; share++) { /* in ten thousandths */
        struct sl_levels levels;
        sl_levels_init(&levels, RATE_HZ);
        for (size_t i = 0; i < 10000; i++) {
            float sample = i < share ? 1.0F : 0.1F;
            sl_levels_add(&levels, &sample, 1);
        }
        struct sl_level_report report = sl_levels_report(&levels);
        assert_int_equal((report.notices & SL_NOTICE_CLIPPED) != 0, share > 5);
    }
}

static void a_sine_cut_off_at_full_scale_is_clipped_and_a_whole_one_is_not(void **state)
{
    (void)state;
    for (int cut = 0; cut <= 1; cut++) {
        struct sound sound = new_sound();
        add_sound(&sound, 1, cut == 1 ? 1.5 : 0.9, 0);
        struct sl_level_report report = sl_levels_report(&sound.levels);
        /* |sin| > 1 / 1.5 on 1 - 2 asin(2/3) / pi = 0.535 of the time; with 16 samples a period
         * that is 10 of 16, as the phases are multiples of 22.5 degrees */
        assert_float_equal(report.clipped_share, cut == 1 ? 10.0 / 16 : 0, 0.001);
        assert_int_equal((report.notices & SL_NOTICE_CLIPPED) != 0, cut);
    }
}

/* Speech stands for a tone that comes and goes over steady noise. */
static struct sl_level_report bursts(double tone_rms_db, double noise_rms_db)
{
    struct sound sound = new_sound();
    double tone = amplitude(tone_rms_db) * sqrt(2);
    double noise = amplitude(noise_rms_db) * sqrt(3);
    for (int i = 0; i < 10; i++) {
        add_sound(&sound, 0.5, 0, noise);
        add_sound(&sound, 0.3, tone, noise);
    }
    return sl_levels_report(&sound.levels);
}

static void signal_to_noise_is_as_mixed(void **state)
{
    (void)state;
    static const float snrs_db[] = {5, 10, 20, 30, 40};
    for (size_t i = 0; i < sizeof snrs_db / sizeof *snrs_db; i++) {
        struct sl_level_report report = bursts(-20, -20 - snrs_db[i]);
        assert_float_equal(report.snr_db, snrs_db[i], 1.5);
        assert_float_equal(report.noise_db, -20 - snrs_db[i], 1);
        assert_int_equal(report.notices, snrs_db[i] < 22.5 ? SL_NOTICE_NOISY : 0);
    }
}

static void notices_tell_what_is_wrong(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double tone_db, noise_db;
        unsigned notices;
    } rows[] = {
        {"good", -20, -60, 0},
        {"nothing but the room", -200, -62, SL_NOTICE_SILENT},
        {"a voice below hearing", -62, -80, SL_NOTICE_SILENT},
        {"quiet", -49, -75, SL_NOTICE_QUIET},
        {"quiet in noise", -49, -55, SL_NOTICE_QUIET | SL_NOTICE_NOISY},
        {"steady quiet hum", -200, -50, SL_NOTICE_SILENT},
        {"steady loud noise", -200, -25, SL_NOTICE_NOISY},
        {"noise", -20, -30, SL_NOTICE_NOISY},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_level_report report = bursts(rows[i].tone_db, rows[i].noise_db);
        if (report.notices != rows[i].notices) {
            fail_msg("%s: notices %u, speech %g, noise %g", rows[i].name, report.notices,
                     report.speech_db, report.noise_db);
        }
    }
}

static void little_speech_in_a_long_sound_is_found(void **state)
{
    (void)state;
    struct sound sound = new_sound();
    add_sound(&sound, 60, 0, amplitude(-60));
    add_sound(&sound, 0.5, amplitude(-20), amplitude(-60)); /* under 2 % of the time */
    add_sound(&sound, 0.5, amplitude(-35), amplitude(-60));
    add_sound(&sound, 60, 0, amplitude(-60));
    struct sl_level_report report = sl_levels_report(&sound.levels);
    assert_float_equal(report.speech_db, -23, 0.5);
    assert_int_equal(report.notices, 0);
}

static void speech_is_as_loud_as_its_louder_frames(void **state)
{
    (void)state;
    struct sound sound = new_sound();
    add_sound(&sound, 9, amplitude(-25), 0);
    add_sound(&sound, 1, amplitude(-20), 0); /* the louder tenth, not out by 6 dB */
    struct sl_level_report report = sl_levels_report(&sound.levels);
    assert_float_equal(report.speech_db, -23, 0.5);
    assert_float_equal(report.noise_db, -28, 0.5);
}

static void a_click_is_no_speech(void **state)
{
    (void)state;
    struct sound sound = new_sound();
    add_sound(&sound, 2, 0, 0);
    add_sound(&sound, 0.06, 0.5, 0);
    add_sound(&sound, 2, 0, 0);
    struct sl_level_report report = sl_levels_report(&sound.levels);
    assert_int_equal(report.notices, SL_NOTICE_SILENT);
    assert_float_equal(report.peak_db, -6.02, 0.01);
}

static void silence_and_nothing_are_silent(void **state)
{
    (void)state;
    struct sound sound = new_sound();
    for (int i = 0; i < 2; i++) {
        struct sl_level_report report = sl_levels_report(&sound.levels);
        assert_float_equal(report.duration_s, i, 1e-9);
        assert_float_equal(report.peak_db, -120, 1e-9);
        assert_float_equal(report.speech_db, -120, 1e-9);
        assert_float_equal(report.noise_db, -120, 1e-9);
        assert_float_equal(report.snr_db, 0, 1e-9);
        assert_float_equal(report.clipped_share, 0, 1e-9);
        assert_int_equal(report.notices, SL_NOTICE_SILENT);
        add_sound(&sound, 1, 0, 0);
    }
}

static void not_a_number_is_0_and_beyond_full_scale_is_full_scale(void **state)
{
    (void)state;
    static const struct {
        float sample;
        double db;
    } rows[] = {{NAN, -120}, {INFINITY, 0},  {-INFINITY, 0}, {1e30F, 0},
                {-7.0F, 0},  {1e-30F, -120}, {-0.1F, -20},   {-0.0F, -120}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_levels levels;
        sl_levels_init(&levels, RATE_HZ);
        for (int j = 0; j < 1000; j++) {
            sl_levels_add(&levels, &rows[i].sample, 1);
        }
        struct sl_level_report report = sl_levels_report(&levels);
        assert_float_equal(report.peak_db, rows[i].db, 1e-4);
        assert_float_equal(report.speech_db, rows[i].db, 1e-4);
    }
}

static void values_that_are_no_numbers_are_said_to_be_damage(void **state)
{
    (void)state;
    static const struct {
        float odd;
        int every;
        unsigned notice;
    } rows[] = {{NAN, 1000, SL_NOTICE_DAMAGED},
                {-INFINITY, 1000, SL_NOTICE_DAMAGED},
                {NAN, 4000, 0},
                {-7.0F, 1000, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_levels levels;
        sl_levels_init(&levels, RATE_HZ);
        for (int j = 0; j < 16000; j++) {
            float sample = j % rows[i].every == 0 ? rows[i].odd : 0.1F;
            sl_levels_add(&levels, &sample, 1);
        }
        struct sl_level_report report = sl_levels_report(&levels);
        assert_int_equal(report.notices & SL_NOTICE_DAMAGED, rows[i].notice);
        assert_int_equal(sl_levels_hiding(&report) & SL_NOTICE_DAMAGED, rows[i].notice);
    }
}

static void only_what_is_bad_enough_hides_words(void **state)
{
    (void)state;
    static const struct {
        struct sl_level_report report;
        unsigned hiding;
    } rows[] = {
        {{.speech_db = -20}, 0},
        {{.speech_db = -50, .notices = SL_NOTICE_QUIET}, 0},
        {{.speech_db = -62, .notices = SL_NOTICE_QUIET}, SL_NOTICE_QUIET},
        {{.speech_db = -10, .clipped_share = 0.01, .notices = SL_NOTICE_CLIPPED}, 0},
        {{.speech_db = -3, .clipped_share = 0.03, .notices = SL_NOTICE_CLIPPED}, SL_NOTICE_CLIPPED},
        {{.speech_db = -50, .notices = SL_NOTICE_QUIET | SL_NOTICE_NOISY}, SL_NOTICE_NOISY},
        {{.speech_db = -120, .notices = SL_NOTICE_SILENT}, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(sl_levels_hiding(&rows[i].report), rows[i].hiding);
    }
}

static void a_sound_shorter_than_a_frame_has_a_level(void **state)
{
    (void)state;
    struct sl_levels levels;
    const float samples[] = {0.1F, -0.1F, 0.1F};
    sl_levels_init(&levels, RATE_HZ);
    sl_levels_add(&levels, samples, 3);
    struct sl_level_report report = sl_levels_report(&levels);
    assert_float_equal(report.speech_db, -20, 1e-9);
    assert_int_equal(report.notices, SL_NOTICE_SILENT);
    assert_int_equal(levels.frames, 0); /* asking changes nothing */
}

static void a_muted_stretch_tells_nothing_of_the_noise(void **state)
{
    (void)state;
    struct sound room = new_sound();
    struct sound muted = new_sound();
    add_sound(&muted, 8, 0, 0);
    for (int i = 0; i < 5; i++) {
        add_sound(&room, 1, 0.1, 0.04);
        add_sound(&room, 1, 0, 0.04);
        add_sound(&muted, 1, 0.1, 0.04);
        add_sound(&muted, 0.5, 0, 0);
        add_sound(&muted, 1, 0, 0.04);
    }
    struct sl_level_report plain = sl_levels_report(&room.levels);
    struct sl_level_report report = sl_levels_report(&muted.levels);
    assert_float_equal(report.noise_db, plain.noise_db, 0.5);
    assert_float_equal(report.snr_db, plain.snr_db, 0.5);
    assert_float_equal(report.duration_s, 20.5, 1e-9);
    assert_int_equal(plain.notices, SL_NOTICE_NOISY);
    assert_int_equal(report.notices, SL_NOTICE_NOISY);
}

static void a_short_pause_of_zeros_is_a_pause(void **state)
{
    (void)state;
    struct sound sound = new_sound();
    for (int i = 0; i < 5; i++) {
        add_sound(&sound, 1, 0.1, 0);
        add_sound(&sound, 0.4, 0, 0);
    }
    struct sl_level_report report = sl_levels_report(&sound.levels);
    assert_float_equal(report.noise_db, -120, 1e-9);
    assert_int_equal(report.notices, 0);
}

static void it_does_not_matter_how_the_sound_is_cut(void **state)
{
    (void)state;
    float *samples = malloc(5000 * sizeof *samples);
    assert_non_null(samples);
    for (size_t i = 0; i < 5000; i++) {
        samples[i] = (float)(1.2 * sin((double)i * (double)i * 1e-5));
    }
    struct sl_levels whole;
    sl_levels_init(&whole, 11025);
    sl_levels_add(&whole, samples, 5000);
    struct sl_levels cut;
    sl_levels_init(&cut, 11025);
    size_t at = 0;
    for (size_t n = 0; at < 5000; n = (n + 7) % 100) {
        size_t more = at + n > 5000 ? 5000 - at : n;
        sl_levels_add(&cut, samples + at, more);
        at += more;
    }
    assert_memory_equal(cut.bins, whole.bins, sizeof whole.bins);
    assert_int_equal(cut.clipped, whole.clipped);
    assert_int_equal(cut.samples, 5000);
    assert_int_equal(cut.frames, whole.frames);
    free(samples);
}

static void a_frame_is_20_ms_at_every_rate(void **state)
{
    (void)state;
    static const struct {
        double rate_hz;
        size_t frame_samples;
    } rows[] = {{8000, 160}, {11025, 221}, {16000, 320}, {96000, 1920}, {10, 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_levels levels;
        sl_levels_init(&levels, rows[i].rate_hz);
        assert_int_equal(levels.frame_samples, rows[i].frame_samples);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sine_has_its_analytic_level),
        cmocka_unit_test(noise_has_its_analytic_level),
        cmocka_unit_test(a_square_wave_at_full_scale_has_0_db_and_is_clipped),
        cmocka_unit_test(only_runs_at_full_scale_are_clipped),
        cmocka_unit_test(clipping_is_noticed_above_half_a_thousandth),
        cmocka_unit_test(a_sine_cut_off_at_full_scale_is_clipped_and_a_whole_one_is_not),
        cmocka_unit_test(signal_to_noise_is_as_mixed),
        cmocka_unit_test(notices_tell_what_is_wrong),
        cmocka_unit_test(little_speech_in_a_long_sound_is_found),
        cmocka_unit_test(speech_is_as_loud_as_its_louder_frames),
        cmocka_unit_test(a_click_is_no_speech),
        cmocka_unit_test(silence_and_nothing_are_silent),
        cmocka_unit_test(not_a_number_is_0_and_beyond_full_scale_is_full_scale),
        cmocka_unit_test(values_that_are_no_numbers_are_said_to_be_damage),
        cmocka_unit_test(only_what_is_bad_enough_hides_words),
        cmocka_unit_test(a_sound_shorter_than_a_frame_has_a_level),
        cmocka_unit_test(a_muted_stretch_tells_nothing_of_the_noise),
        cmocka_unit_test(a_short_pause_of_zeros_is_a_pause),
        cmocka_unit_test(it_does_not_matter_how_the_sound_is_cut),
        cmocka_unit_test(a_frame_is_20_ms_at_every_rate),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
