#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/road_tone.h"
#include "core/units.h"
#include "files/models.h"
#include "practice/cue_player.h"

struct scene {
    struct sl_junction junction;
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    struct sl_cue_voice *voice;
    struct sl_cue_list cues;
};

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    struct sl_cue_voice_choice choice = {0};
    assert_int_equal(sl_load_junction("t-left-open", &scene->junction, NULL), SL_OK);
    assert_int_equal(sl_load_routine("decide-last", &scene->routine, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &scene->car, NULL), SL_OK);
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
    assert_int_equal(sl_cue_voice_open(&choice, &scene->voice, NULL), SL_OK);
    struct sl_cueing cueing = {.junction = &scene->junction,
                               .routine = &scene->routine,
                               .plan = &scene->plan,
                               .length_s = sl_cue_voice_length_s,
                               .user = scene->voice};
    assert_int_equal(sl_cues_make(&cueing, SL_PROMPTING_FULL, &scene->cues, NULL), SL_OK);
    *state = scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    sl_cue_list_clear(&scene->cues);
    sl_cue_voice_close(scene->voice);
    sl_junction_clear(&scene->junction);
    sl_routine_clear(&scene->routine);
    sl_car_clear(&scene->car);
    free(scene);
    return 0;
}

static struct sl_cue_player *make_player(const struct scene *scene, double lead_s, bool tone)
{
    struct sl_cue_player *player = NULL;
    struct sl_cue_player_setup setup = {.cues = &scene->cues,
                                        .voice = scene->voice,
                                        .plan = &scene->plan,
                                        .lead_s = lead_s,
                                        .road_tone = tone};
    assert_int_equal(sl_cue_player_new(&setup, &player, NULL), SL_OK);
    return player;
}

/* The whole run; the caller frees. */
static int16_t *render_all(const struct sl_cue_player *player, size_t *n)
{
    *n = (size_t)sl_cue_player_end_frame(player) + 1000;
    int16_t *frames = malloc(*n * sizeof *frames);
    sl_cue_player_render(player, 0, frames, *n);
    return frames;
}

/* In the rendered signal each clip stands, sample for sample, where the plan wants it. */
static void every_cue_begins_at_its_sample(void **state)
{
    const struct scene *scene = *state;
    struct sl_cue_player *player = make_player(scene, 0.5, false);
    size_t n = 0;
    int16_t *frames = render_all(player, &n);
    uint64_t zero = sl_cue_player_zero_frame(player);
    for (size_t i = 0; i < scene->cues.count; i++) {
        const struct sl_cue *cue = &scene->cues.items[i];
        const struct sl_clip *clip = NULL;
        assert_int_equal(sl_cue_voice_clip(scene->voice, cue->text, &clip, NULL), SL_OK);
        uint64_t onset = (uint64_t)((double)zero + round(cue->at_s * SL_CLIP_RATE_HZ));
        assert_int_equal(sl_cue_player_onset_frame(player, i), onset);
        assert_memory_equal(frames + onset, clip->samples, clip->n * sizeof *clip->samples);
    }
    free(frames);
    sl_cue_player_free(player);
}

static void the_announcement_ends_at_the_zero_frame_after_the_lead(void **state)
{
    const struct scene *scene = *state;
    struct sl_cue_player *player = make_player(scene, 0.5, false);
    assert_int_equal(sl_cue_player_onset_frame(player, 0), SL_CLIP_RATE_HZ / 2);
    assert_int_equal(sl_cue_player_offset_frame(player, 0), sl_cue_player_zero_frame(player));
    sl_cue_player_free(player);
}

static void between_the_cues_there_is_silence(void **state)
{
    const struct scene *scene = *state;
    struct sl_cue_player *player = make_player(scene, 0.5, false);
    size_t n = 0;
    int16_t *frames = render_all(player, &n);
    for (size_t i = 0; i < n; i++) {
        if (!sl_cue_player_sounds(player, i, i + 1)) {
            assert_int_equal(frames[i], 0);
        }
    }
    free(frames);
    sl_cue_player_free(player);
}

static void frames_are_the_same_in_whatever_pieces(void **state)
{
    const struct scene *scene = *state;
    static const size_t pieces[] = {1, 160, 333, 4096};
    struct sl_cue_player *player = make_player(scene, 0.1, true);
    size_t n = 0;
    int16_t *whole = render_all(player, &n);
    int16_t *again = malloc(n * sizeof *again);
    for (size_t p = 0; p < sizeof pieces / sizeof *pieces; p++) {
        for (size_t done = 0; done < n; done += pieces[p]) {
            size_t length = n - done < pieces[p] ? n - done : pieces[p];
            sl_cue_player_render(player, done, again + done, length);
        }
        assert_memory_equal(again, whole, n * sizeof *again);
    }
    free(whole);
    free(again);
    sl_cue_player_free(player);
}

static void the_road_tone_is_added_from_time_0_to_the_line(void **state)
{
    const struct scene *scene = *state;
    struct sl_cue_player *plain = make_player(scene, 0.1, false);
    struct sl_cue_player *toned = make_player(scene, 0.1, true);
    size_t n = 0;
    int16_t *without = render_all(plain, &n);
    int16_t *with = malloc(n * sizeof *with);
    sl_cue_player_render(toned, 0, with, n);
    uint64_t zero = sl_cue_player_zero_frame(plain);
    double most = 0;
    for (size_t i = 0; i < n; i++) {
        double at_s = ((double)i - (double)zero) / SL_CLIP_RATE_HZ;
        double difference = with[i] - without[i];
        assert_true(fabs(difference - INT16_MAX * sl_road_tone(&scene->plan, at_s)) <= 0.5 + 1e-9);
        most = fmax(most, fabs(difference));
    }
    assert_true(most > 0.9 * SL_ROAD_TONE_AMPLITUDE * INT16_MAX);
    free(with);
    free(without);
    sl_cue_player_free(plain);
    sl_cue_player_free(toned);
}

static void it_is_known_when_a_cue_sounds(void **state)
{
    const struct scene *scene = *state;
    struct sl_cue_player *player = make_player(scene, 0.5, true);
    uint64_t onset = sl_cue_player_onset_frame(player, 1);
    uint64_t end = sl_cue_player_offset_frame(player, 1);
    assert_true(sl_cue_player_sounds(player, onset, onset + 1));
    assert_true(sl_cue_player_sounds(player, end - 1, end));
    assert_true(sl_cue_player_sounds(player, onset - 10, end + 10));
    assert_false(sl_cue_player_sounds(player, onset - 10, onset));
    assert_false(sl_cue_player_sounds(player, end, end + 1));
    sl_cue_player_free(player);
}

static void far_beyond_the_end_there_is_silence(void **state)
{
    const struct scene *scene = *state;
    struct sl_cue_player *player = make_player(scene, 0, true);
    int16_t frames[64];
    memset(frames, 1, sizeof frames);
    sl_cue_player_render(player, UINT64_C(1) << 40, frames, 64);
    for (size_t i = 0; i < 64; i++) {
        assert_int_equal(frames[i], 0);
    }
    sl_cue_player_free(player);
}

static void a_lead_out_of_range_is_refused(void **state)
{
    const struct scene *scene = *state;
    static const double leads_s[] = {-0.1, 61, NAN};
    for (size_t i = 0; i < 3; i++) {
        struct sl_cue_player *player = NULL;
        struct sl_cue_player_setup setup = {.cues = &scene->cues,
                                            .voice = scene->voice,
                                            .plan = &scene->plan,
                                            .lead_s = leads_s[i]};
        assert_int_equal(sl_cue_player_new(&setup, &player, NULL), SL_INVALID);
        assert_null(player);
    }
}

int main(void)
{
#define WITH_SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        WITH_SCENE(every_cue_begins_at_its_sample),
        WITH_SCENE(the_announcement_ends_at_the_zero_frame_after_the_lead),
        WITH_SCENE(between_the_cues_there_is_silence),
        WITH_SCENE(frames_are_the_same_in_whatever_pieces),
        WITH_SCENE(the_road_tone_is_added_from_time_0_to_the_line),
        WITH_SCENE(it_is_known_when_a_cue_sounds),
        WITH_SCENE(far_beyond_the_end_there_is_silence),
        WITH_SCENE(a_lead_out_of_range_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
