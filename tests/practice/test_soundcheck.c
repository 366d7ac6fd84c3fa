/*
 * Sound checks in simulated rooms: what is wrong in the room is what the check finds, and what it
 * measures is what was put in.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "files/models.h"
#include "practice/cue_voice.h"
#include "practice/soundcheck.h"
#include "sound/endpoint_simulated.h"
#include "sound/speak.h"

#include "support/random.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE SL_SOUND_RATE_HZ
#define ROOM_S 60

static struct sl_routine routine;
static char *pronunciations;
static struct sl_clip cue;
static struct sl_spoken learner;

static int set_up(void **state)
{
    (void)state;
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    assert_int_equal(sl_models_path("pronunciations.dict", &pronunciations, NULL), SL_OK);
    assert_int_equal(sl_speak_clip("awb", SL_SOUNDCHECK_CUE, &cue, NULL), SL_OK);
    assert_int_equal(sl_speak("slt", SL_SOUNDCHECK_SENTENCES, NULL, &learner, NULL), SL_OK);
    assert_int_equal(learner.rate_hz, RATE);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    sl_routine_clear(&routine);
    free(pronunciations);
    sl_clip_clear(&cue);
    free(learner.samples);
    return 0;
}

/* A room and who is in it. Levels in dBFS of the mean power; -INFINITY: nothing. */
struct room {
    double noise_db, voice_db;
    double leak; /* factor */
    size_t delay_frames;
    double knock_at_s; /* a bang of a fifth of a second; 0: none */
    double talk_at_s;  /* the learner talks already; 0: not */
    bool cut_off;      /* the voice is 30 dB too loud for the converter */
    uint64_t gone_at;
};

static const struct room usual = {
    .noise_db = -62, .voice_db = -26, .leak = 0.05, .delay_frames = 2400};

static void add_voice(int16_t *signal, size_t n, double at_s, double factor)
{
    size_t from = (size_t)(at_s * RATE);
    for (size_t i = 0; i < learner.n_samples && from + i < n; i++) {
        double sample = signal[from + i] + factor * learner.samples[i];
        signal[from + i] = (int16_t)lrint(fmin(fmax(sample, -32768), 32767));
    }
}

static double factor_for(double level_db)
{
    double sum = 0;
    for (size_t i = 0; i < learner.n_samples; i++) {
        sum += (double)learner.samples[i] * learner.samples[i];
    }
    return 32768 * pow(10, level_db / 20) / sqrt(sum / (double)learner.n_samples);
}

/* What the microphone hears but for the echo. */
static int16_t *signal_of(const struct room *room)
{
    size_t n = (size_t)ROOM_S * RATE;
    int16_t *signal = calloc(n, sizeof *signal);
    assert_non_null(signal);
    uint64_t random = 5;
    double peak = 32768 * pow(10, room->noise_db / 20) * sqrt(3);
    size_t knock = (size_t)(room->knock_at_s * RATE);
    for (size_t i = 0; i < n; i++) {
        bool bang = knock > 0 && i >= knock && i < knock + RATE / 5;
        signal[i] = (int16_t)lrint((bang ? 8000 : peak) * (2 * random_share(&random) - 1));
    }
    double voice_at_s = 0.3 + SL_SOUNDCHECK_SILENCE_S + 0.3 + sl_clip_length_s(&cue) + 0.9 + 0.5;
    double factor = factor_for(room->voice_db) * (room->cut_off ? 30 : 1);
    if (isfinite(room->voice_db)) {
        add_voice(signal, n, voice_at_s, factor);
    }
    if (room->talk_at_s > 0) {
        add_voice(signal, n, room->talk_at_s, factor);
    }
    return signal;
}

static size_t n_steps;

static void count_step(void *user, enum sl_soundcheck_step step)
{
    (void)user;
    assert_int_equal(step, n_steps);
    n_steps++;
}

static enum sl_status check_room(const struct room *room, bool plays,
                                 struct sl_soundcheck_result *result, struct sl_error *error)
{
    int16_t *signal = signal_of(room);
    struct sl_simulation simulation = {.signal = signal,
                                       .n_signal = (size_t)ROOM_S * RATE,
                                       .leak = room->leak,
                                       .delay_frames = room->delay_frames,
                                       .gone_at = room->gone_at};
    struct sl_endpoint endpoint = {0};
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    struct sl_listener_setup setup = {.paths = &paths};
    struct sl_listener *listener = NULL;
    assert_int_equal(sl_listener_new(&routine, &setup, &listener, NULL), SL_OK);
    assert_int_equal(sl_endpoint_simulated_open(&simulation, &endpoint, NULL), SL_OK);
    struct sl_soundcheck check = {.endpoint = &endpoint,
                                  .listener = listener,
                                  .cue = plays ? &cue : NULL,
                                  .step = plays ? count_step : NULL};
    n_steps = 0;
    enum sl_status status = sl_soundcheck_run(&check, result, error);
    sl_endpoint_close(&endpoint);
    sl_listener_free(listener);
    free(signal);
    return status;
}

static void a_usual_room_is_measured_as_it_is(void **state)
{
    (void)state;
    struct sl_soundcheck_result result = {0};
    assert_int_equal(check_room(&usual, true, &result, NULL), SL_OK);
    const struct sl_sound_figures *figures = &result.figures;
    print_message("noise %.1f dB, leak %.2f dB, round trip %.2f ms, speech %.1f s, %zu phrases\n",
                  figures->noise_db, figures->leak_db, 1000 * figures->round_trip_s,
                  figures->speech_s, figures->n_phrases);
    assert_int_equal(n_steps, SL_SOUNDCHECK_STEPS);
    assert_int_equal(result.findings, 0);
    assert_float_equal(figures->noise_db, -62, 0.5);
    assert_true(figures->echo_heard);
    assert_true(figures->cancelled);
    assert_float_equal(figures->leak_db, -26.02f, 0.5); /* 20 log10 of 0.05 */
    assert_float_equal(figures->round_trip_s, 0.150, 0.001);
    assert_float_equal(figures->stamps_s, 0.150, 1e-9);
    assert_true(figures->speech_s >= 4);
    assert_true(figures->n_phrases >= 3);
    assert_true(result.heard.items[0].start_s > 10); /* from the start of the check */
    assert_true(result.voice.known);
    sl_soundcheck_clear(&result);
}

static void leak_and_round_trip_are_measured_in_any_room(void **state)
{
    static const struct row {
        double leak;
        size_t delay_frames;
    } rows[] = {{0.5, 800}, {0.1, 3200}, {0.02, 6400}, {0.1, 4801}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct room room = usual;
        struct sl_soundcheck_result result = {0};
        room.leak = rows[i].leak;
        room.delay_frames = rows[i].delay_frames;
        assert_int_equal(check_room(&room, true, &result, NULL), SL_OK);
        double leak_db = 20 * log10(rows[i].leak);
        double delay_s = (double)rows[i].delay_frames / RATE;
        if (!result.figures.echo_heard || fabs(result.figures.leak_db - leak_db) > 0.5 ||
            fabs(result.figures.round_trip_s - delay_s) > 0.001) {
            fail_msg("%.2f dB at %.4f s, not %.2f at %.4f", result.figures.leak_db,
                     result.figures.round_trip_s, leak_db, delay_s);
        }
        sl_soundcheck_clear(&result);
    }
}

static void what_is_wrong_is_found(void **state)
{
    static const struct row {
        const char *name;
        struct room room;
        unsigned findings;
    } rows[] = {
        {"a headset", {-62, -26, 0, 2400, 0, 0, false, 0}, SL_SOUND_NO_ECHO},
        {"a quiet voice", {-75, -50, 0.02, 2400, 0, 0, false, 0}, SL_SOUND_QUIET},
        {"nobody speaks", {-62, -INFINITY, 0.05, 2400, 0, 0, false, 0}, SL_SOUND_SILENT},
        {"cut off", {-62, -26, 0.05, 2400, 0, 0, true, 0}, SL_SOUND_CLIPPED},
        {"a loud fan", {-36, -26, 0.05, 2400, 0, 0, false, 0}, SL_SOUND_NOISY},
        {"a loud speaker", {-62, -26, 0.5, 2400, 0, 0, false, 0}, SL_SOUND_LOUD_ECHO},
        {"a bang in the silence", {-62, -26, 0.05, 2400, 1, 0, false, 0}, SL_SOUND_RESTLESS},
        {"a dead microphone", {-INFINITY, -INFINITY, 0, 0, 0, 0, false, 0}, SL_SOUND_EMPTY},
        {"talk over the cue", {-62, -26, 0, 2400, 0, 4, false, 0}, SL_SOUND_DISTURBED},
        {"a slow connection", {-62, -26, 0.1, 8800, 0, 0, false, 0}, SL_SOUND_LATE},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_soundcheck_result result = {0};
        assert_int_equal(check_room(&rows[i].room, true, &result, NULL), SL_OK);
        if (result.findings != rows[i].findings) {
            fail_msg("%s: %#x, not %#x; speech %.1f dB, %.1f s, snr %.1f, swing %.1f, leak %.1f",
                     rows[i].name, result.findings, rows[i].findings,
                     result.figures.levels.speech_db, result.figures.speech_s,
                     result.figures.levels.snr_db, result.figures.noise_swing,
                     result.figures.leak_db);
        }
        assert_int_equal(result.voice.known, sl_sound_voice_is_good(rows[i].findings));
        sl_soundcheck_clear(&result);
    }
}

static void without_a_speaker_nothing_is_said_about_the_echo(void **state)
{
    (void)state;
    struct room room = usual;
    struct sl_soundcheck_result result = {0};
    room.talk_at_s = 2.8; /* at once after the silence */
    assert_int_equal(check_room(&room, false, &result, NULL), SL_OK);
    assert_false(result.figures.played);
    assert_int_equal(result.findings, 0);
    assert_true(result.voice.known);
    sl_soundcheck_clear(&result);
}

/* The start values are worth having: with them the listener's mean is at once where it ends. */
static void the_voice_that_is_kept_is_the_voice_that_spoke(void **state)
{
    (void)state;
    struct room louder = usual;
    struct sl_soundcheck_result first = {0};
    struct sl_soundcheck_result second = {0};
    louder.voice_db = -20;
    assert_int_equal(check_room(&usual, true, &first, NULL), SL_OK);
    assert_int_equal(check_room(&louder, true, &second, NULL), SL_OK);
    /* 6 dB more is log(10^0.6) in every filter's log energy: only c0 knows it. The front end's
     * cosine transform scales c0 by 1 / sqrt(n) of its 25 filters: sqrt(25) * 0.6 ln 10 = 6.9. What
     * is measured is less, as the noise in the pauses does not rise. */
    double c0 = second.voice.mean[0] - first.voice.mean[0];
    print_message("c0 %.2f and %.2f\n", first.voice.mean[0], second.voice.mean[0]);
    assert_true(c0 > 2 && c0 < 7);
    for (size_t i = 2; i < SL_VOICE_CEPSTRA; i++) {
        assert_float_equal(first.voice.mean[i], second.voice.mean[i], 3);
    }
    sl_soundcheck_clear(&first);
    sl_soundcheck_clear(&second);
}

static void a_device_that_goes_is_an_error(void **state)
{
    (void)state;
    struct room room = usual;
    struct sl_soundcheck_result result = {0};
    struct sl_error error = {0};
    room.gone_at = 3 * RATE;
    assert_int_equal(check_room(&room, true, &result, &error), SL_DEVICE);
    assert_non_null(error.mend);
    sl_error_clear(&error);
}

static bool stop_at_once(void *user)
{
    (void)user;
    return true;
}

static void a_check_can_be_stopped(void **state)
{
    (void)state;
    struct sl_simulation simulation = {0};
    struct sl_endpoint endpoint = {0};
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    struct sl_listener_setup setup = {.paths = &paths};
    struct sl_listener *listener = NULL;
    struct sl_soundcheck_result result = {0};
    assert_int_equal(sl_listener_new(&routine, &setup, &listener, NULL), SL_OK);
    assert_int_equal(sl_endpoint_simulated_open(&simulation, &endpoint, NULL), SL_OK);
    struct sl_soundcheck check = {
        .endpoint = &endpoint, .listener = listener, .cue = &cue, .stop = stop_at_once};
    assert_int_equal(sl_soundcheck_run(&check, &result, NULL), SL_OK);
    assert_true(result.stopped);
    assert_true(sl_endpoint_facts(&endpoint).captured < RATE);
    sl_soundcheck_clear(&result);
    sl_endpoint_close(&endpoint);
    sl_listener_free(listener);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_usual_room_is_measured_as_it_is),
        cmocka_unit_test(leak_and_round_trip_are_measured_in_any_room),
        cmocka_unit_test(what_is_wrong_is_found),
        cmocka_unit_test(without_a_speaker_nothing_is_said_about_the_echo),
        cmocka_unit_test(the_voice_that_is_kept_is_the_voice_that_spoke),
        cmocka_unit_test(a_device_that_goes_is_an_error),
        cmocka_unit_test(a_check_can_be_stopped),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
