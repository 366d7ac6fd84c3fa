#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "sound/echo_copy.h"
#include "sound/resampler.h"

#include "sound/echo_scene.h"
#include "support/near.h"

#define DELAY 2048

/* The room, so damped that what it adds lies 10 dB below the straight way. */
static void make_dry(const double *room, double *dry)
{
    double energy = 0;
    for (size_t i = 1; i < SCENE_ROOM; i++) {
        dry[i] = room[i];
        energy += room[i] * room[i];
    }
    dry[0] = sqrt(10 * energy);
}

static struct scene_plan plan_of(const struct scene_voices *voices, double gain_db)
{
    return (struct scene_plan){.simulation = {.leak = pow(10, gain_db / 20), .delay_frames = DELAY},
                               .played = voices->cue,
                               .n = SCENE_LENGTH,
                               .offset_s = 0.1};
}

static void put_room(struct scene_plan *plan, const double *room)
{
    double energy = 0;
    for (size_t i = 0; i < SCENE_ROOM; i++) {
        energy += room[i] * room[i];
    }
    plan->simulation.room = room;
    plan->simulation.n_room = SCENE_ROOM;
    plan->simulation.leak /= sqrt(energy);
}

static void the_speakers_own_sound_is_no_microphone(void **state)
{
    const struct scene_voices *voices = *state;
    static const struct {
        double gain_db;
        size_t delay;
    } rows[] = {{0, DELAY}, {-2, DELAY}, {2, DELAY}, {-5, DELAY}, {0, 40}, {0, 11180}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct scene_plan plan = plan_of(voices, rows[i].gain_db);
        plan.simulation.delay_frames = rows[i].delay;
        plan.n = (size_t)6 * SCENE_RATE;
        struct scene scene = scene_run(&plan);
        print_message("%.0f dB after %zu frames: found after %.2f s\n", rows[i].gain_db,
                      rows[i].delay, scene.copied_s);
        assert_in_range((int)(1000 * scene.copied_s), 1, 5000);
        assert_true(scene.report.copied);
        scene_free(&scene);
    }
}

/* `n` frames through a change of rate to 48 kHz and back, `late` frames of that rate late. */
static int16_t *through_a_device(const int16_t *frames, size_t n, size_t late)
{
    int16_t *fast = calloc(3 * n + late, sizeof *fast);
    int16_t *back = calloc(n, sizeof *back);
    struct sl_resampler *up = NULL;
    struct sl_resampler *down = NULL;
    assert_true(fast != NULL && back != NULL);
    assert_int_equal(sl_resampler_new(SCENE_RATE, 3 * SCENE_RATE, &up, NULL), SL_OK);
    assert_int_equal(sl_resampler_new(3 * SCENE_RATE, SCENE_RATE, &down, NULL), SL_OK);
    struct sl_resampling to = {.in = frames, .n_in = n, .out = fast + late, .room = 3 * n};
    struct sl_resampling from = {.in = fast, .out = back, .room = n};
    from.n_in = late + sl_resampler_run(up, &to);
    assert_true(sl_resampler_run(down, &from) > n / 2);
    free(fast);
    sl_resampler_free(up);
    sl_resampler_free(down);
    return back;
}

static void a_change_of_rate_between_hides_nothing(void **state)
{
    const struct scene_voices *voices = *state;
    for (size_t late = 4800; late < 4806; late++) {
        struct scene_plan plan = plan_of(voices, -120);
        plan.n = (size_t)6 * SCENE_RATE;
        int16_t *heard = through_a_device(voices->cue, SCENE_LENGTH, late);
        plan.simulation.signal = heard;
        plan.simulation.n_signal = SCENE_LENGTH;
        struct scene scene = scene_run(&plan);
        print_message("%zu frames of 48 kHz late: found after %.2f s\n", late, scene.copied_s);
        assert_in_range((int)(1000 * scene.copied_s), 1, 5000);
        scene_free(&scene);
        free(heard);
    }
}

/* Cues as in a run: 7 s of announcement, then a second every 4 s. The microphone goes after 12 s.
 */
static void a_microphone_that_goes_in_the_middle_is_missed_within_a_few_cues(void **state)
{
    const struct scene_voices *voices = *state;
    const double echoes[] = {0, 0.1, 0.3};
    const size_t n = (size_t)40 * SCENE_RATE;
    const size_t gone = (size_t)12 * SCENE_RATE;
    int16_t *cues = calloc(n, sizeof *cues);
    int16_t *heard = calloc(n, sizeof *heard);
    assert_true(cues != NULL && heard != NULL);
    for (size_t i = SCENE_RATE; i < n; i++) {
        bool sounds = i < (size_t)8 * SCENE_RATE || i % ((size_t)4 * SCENE_RATE) < SCENE_RATE;
        cues[i] = (int16_t)(sounds ? voices->cue[i % SCENE_LENGTH] : 0);
    }
    for (size_t k = 0; k < sizeof echoes / sizeof *echoes; k++) {
        for (size_t i = 4000; i < n; i++) {
            bool there = i < gone;
            double echo = there ? echoes[k] * cues[i - 2000] : cues[i - 3000];
            double said =
                there && i > (size_t)8 * SCENE_RATE ? voices->learner[i % SCENE_LENGTH] : 0;
            heard[i] = (int16_t)lrint(fmin(fmax(echo + said, INT16_MIN), INT16_MAX));
        }
        struct scene_plan plan = plan_of(voices, -120);
        plan.simulation.signal = heard;
        plan.simulation.n_signal = n;
        plan.played = cues;
        plan.n = n;
        struct scene scene = scene_run(&plan);
        print_message("echo of %.1f before: found after %.2f s\n", echoes[k], scene.copied_s - 12);
        assert_in_range((int)(1000 * scene.copied_s), 12000, 28000);
        scene_free(&scene);
    }
    free(cues);
    free(heard);
}

static void what_a_microphone_hears_is_never_taken_for_the_speaker(void **state)
{
    const struct scene_voices *voices = *state;
    double dry[SCENE_ROOM];
    make_dry(voices->room, dry);
    const struct {
        const char *name;
        double gain_db;
        const double *room;
        double noise_rms, learner;
    } rows[] = {
        {"a cable, 20 dB down", -20, NULL, 0, 0},
        {"no echo", -120, NULL, 3, 0},
        {"no echo, a learner", -120, NULL, 3, 1},
        {"a room as loud as the speaker", 0, voices->room, 0, 0},
        {"... and noise", 0, voices->room, 300, 0},
        {"a dry room as loud as the speaker", 0, dry, 0, 0},
        {"... and noise", 0, dry, 300, 0},
        {"a copy and a learner", 0, NULL, 0, 1},
        {"a copy and a soft learner", 0, NULL, 0, 0.3},
        {"a room and a learner", -10, voices->room, 3, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct scene_plan plan = plan_of(voices, rows[i].gain_db);
        int16_t *said = calloc(SCENE_LENGTH, sizeof *said);
        assert_non_null(said);
        for (size_t k = 0; k < SCENE_LENGTH; k++) {
            said[k] = (int16_t)lrint(rows[i].learner * voices->learner[k]);
        }
        plan.simulation.signal = said;
        plan.simulation.n_signal = SCENE_LENGTH;
        plan.noise_rms = rows[i].noise_rms;
        if (rows[i].room != NULL) {
            put_room(&plan, rows[i].room);
        }
        struct scene scene = scene_run(&plan);
        if (scene.copied_s != 0) {
            fail_msg("%s: taken for the speaker after %.2f s", rows[i].name, scene.copied_s);
        }
        scene_free(&scene);
        free(said);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_speakers_own_sound_is_no_microphone),
        cmocka_unit_test(a_change_of_rate_between_hides_nothing),
        cmocka_unit_test(a_microphone_that_goes_in_the_middle_is_missed_within_a_few_cues),
        cmocka_unit_test(what_a_microphone_hears_is_never_taken_for_the_speaker),
    };
    return cmocka_run_group_tests(tests, scene_voices_make, scene_voices_free);
}
