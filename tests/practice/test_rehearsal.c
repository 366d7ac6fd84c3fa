/* What a rehearsal does on one clock: events, cues, recording, ends. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdatomic.h>

#include "rehearsal_scene.h"
#include "sound/clock.h"
#include "support/near.h"

#define BLOCK_S 0.01

static void load_run(const struct scene *scene, struct sl_run_file *run)
{
    char *path = sl_run_file_path(scene->recording);
    assert_int_equal(sl_run_file_load(path, run, NULL), SL_OK);
    free(path);
}

static void events_come_when_the_plan_says(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    scene->simulation.delay_frames = 1600;
    assert_int_equal(scene_run(scene), SL_OK);
    const struct sl_plan *plan = &scene->plan;
    assert_near(scene_find(scene, SL_EVENT_ANNOUNCED, 0)->at_s, 0, BLOCK_S);
    assert_near(scene_find(scene, SL_EVENT_LINE, 0)->at_s, plan->line_s, BLOCK_S);
    assert_int_equal(scene_count(scene, SL_EVENT_OPENS), plan->n_windows);
    assert_int_equal(scene_count(scene, SL_EVENT_CLOSES), plan->n_windows);
    for (size_t i = 0; i < plan->n_windows; i++) {
        const struct seen *opens = scene_find(scene, SL_EVENT_OPENS, i);
        const struct seen *closes = scene_find(scene, SL_EVENT_CLOSES, i);
        assert_near(opens->at_s, plan->windows[opens->phase].opens_s, BLOCK_S);
        assert_near(closes->at_s, plan->windows[closes->phase].closes_s, BLOCK_S);
    }
    size_t n_cues = scene_count(scene, SL_EVENT_CUE);
    assert_true(n_cues > plan->n_windows);
    for (size_t i = 0; i < n_cues; i++) {
        const struct seen *cue = scene_find(scene, SL_EVENT_CUE, i);
        assert_near(cue->at_s, cue->cue_at_s, BLOCK_S);
    }
    assert_int_equal(scene->result.end, SL_REHEARSAL_DONE);
    assert_true(scene->result.line_reached);
    scene_free(scene);
}

/* The recording's clock is the microphone's: what is played comes in a delay later. */
static void time_0_is_the_end_of_the_announcement_as_the_microphone_hears_it(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    scene->simulation.delay_frames = 2400;
    assert_int_equal(scene_run(scene), SL_OK);
    double played_s = SCENE_LEAD_S + scene_announcement_s(scene);
    assert_near(scene->result.from_s, played_s + 0.15, 0.001);
    struct sl_run_file run = {0};
    load_run(scene, &run);
    assert_true(run.from_known);
    assert_near(run.from_s, scene->result.from_s, 1e-9); /* a file loses nothing of it */
    assert_string_equal(run.ended, "done");
    sl_run_file_clear(&run);
    scene_free(scene);
}

/* The bar is 20 ms; in the played frames the cues are exactly where the plan wants them. */
static void cues_are_played_at_their_frames(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    assert_int_equal(scene_run(scene), SL_OK);
    const int16_t *played = NULL;
    size_t n = 0;
    sl_endpoint_simulated_played(&scene->endpoint, &played, &n);
    struct sl_cueing cueing = {&scene->junction, &scene->routine, &scene->plan,
                               sl_cue_voice_length_s, scene->voice};
    struct sl_cue_list cues = {0};
    assert_int_equal(sl_cues_make(&cueing, SL_PROMPTING_FULL, &cues, NULL), SL_OK);
    size_t zero = scene_zero(scene);
    for (size_t i = 0; i < cues.count; i++) {
        const struct sl_clip *clip = NULL;
        assert_int_equal(sl_cue_voice_clip(scene->voice, cues.items[i].text, &clip, NULL), SL_OK);
        size_t onset = (size_t)((double)zero + round(cues.items[i].at_s * SL_SOUND_RATE_HZ));
        assert_true(onset + clip->n <= n);
        assert_memory_equal(played + onset, clip->samples, clip->n * sizeof *played);
    }
    sl_cue_list_clear(&cues);
    scene_free(scene);
}

/* Time passes as fast as the computer can, so that the disk is behind all the time. */
static void every_captured_frame_is_recorded_however_slow_the_others_are(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    scene_hear(scene, NULL, 40, 8000);
    assert_int_equal(scene_run(scene), SL_OK);
    size_t n = 0;
    int16_t *recorded = scene_recorded(scene, &n);
    assert_near((double)n / SL_SOUND_RATE_HZ, scene->result.length_s, 1e-6);
    double wanted_s = scene->result.from_s + scene->plan.line_s + SL_REHEARSAL_TAIL_S;
    assert_near(scene->result.length_s, wanted_s, 0.02);
    assert_memory_equal(recorded, scene->signal, n * sizeof *recorded);
    free(recorded);
    scene_free(scene);
}

static enum sl_status slow_feed(void *self, const int16_t *samples, size_t n,
                                struct sl_heard_list *heard, struct sl_error *error)
{
    (void)samples;
    (void)heard;
    (void)error;
    size_t *fed = self;
    *fed += n;
    sl_clock_sleep_s(0.0005);
    return SL_OK;
}

static enum sl_status no_finish(void *self, struct sl_heard_list *heard, struct sl_error *error)
{
    (void)self;
    (void)heard;
    (void)error;
    return SL_OK;
}

static void a_slow_ear_hears_all_and_holds_nothing_up(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    size_t fed = 0;
    struct sl_live_ear ear = {slow_feed, no_finish, &fed};
    scene->rehearsal.ear = &ear;
    scene_hear(scene, NULL, 40, 8000);
    assert_int_equal(scene_run(scene), SL_OK);
    size_t n = 0;
    int16_t *recorded = scene_recorded(scene, &n);
    assert_int_equal(fed, n);
    assert_memory_equal(recorded, scene->signal, n * sizeof *recorded);
    free(recorded);
    scene_free(scene);
}

/* An ear that stands still until it is said to be behind. */
struct held {
    struct scene *scene;
    atomic_bool go;
    size_t fed;
};

static enum sl_status held_feed(void *self, const int16_t *samples, size_t n,
                                struct sl_heard_list *heard, struct sl_error *error)
{
    (void)samples;
    (void)heard;
    (void)error;
    struct held *held = self;
    while (!atomic_load(&held->go)) {
        sl_clock_sleep_s(0.001);
    }
    held->fed += n;
    return SL_OK;
}

static void held_event(void *user, const struct sl_event *event)
{
    struct held *held = user;
    scene_event(held->scene, event);
    if (event->kind == SL_EVENT_BEHIND || event->kind == SL_EVENT_LINE) {
        atomic_store(&held->go, true);
    }
}

static void an_ear_that_falls_behind_is_told_once(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    struct held held = {.scene = scene};
    struct sl_live_ear ear = {held_feed, no_finish, &held};
    scene->rehearsal.ear = &ear;
    scene->rehearsal.event = held_event;
    scene->rehearsal.stop = NULL;
    scene->rehearsal.user = &held;
    assert_int_equal(scene_run(scene), SL_OK);
    assert_int_equal(scene_count(scene, SL_EVENT_BEHIND), 1);
    double captured_s = scene_find(scene, SL_EVENT_BEHIND, 0)->at_s + scene->result.from_s;
    assert_near(captured_s, SL_REHEARSAL_BEHIND_S, 0.05); /* 20 ms are in the ear's hands */
    assert_near((double)held.fed / SL_SOUND_RATE_HZ, scene->result.length_s, 1e-6);
    scene_free(scene);
}

/* Says every phase at once when `at` samples have come. */
struct quick {
    size_t fed, at, n_phases;
    bool unclear;
};

static enum sl_status quick_feed(void *self, const int16_t *samples, size_t n,
                                 struct sl_heard_list *heard, struct sl_error *error)
{
    (void)samples;
    struct quick *quick = self;
    enum sl_status status = SL_OK;
    bool now = quick->fed < quick->at && quick->fed + n >= quick->at;
    quick->fed += n;
    for (size_t i = 0; now && i < quick->n_phases && status == SL_OK; i++) {
        double at_s = (double)quick->at / SL_SOUND_RATE_HZ;
        char text[] = "words";
        struct sl_heard phrase = {.phase = i,
                                  .text = text,
                                  .start_s = at_s,
                                  .end_s = at_s + 1,
                                  .confidence = 1,
                                  .unclear = quick->unclear};
        status = sl_heard_add(heard, &phrase, error);
    }
    return status;
}

static void a_run_ends_early_once_all_was_said_and_the_line_is_passed(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        bool unclear;
        double after_line_s;
    } rows[] = {{"clear", false, SL_REHEARSAL_SAID_S}, {"unclear", true, SL_REHEARSAL_TAIL_S}};
    for (size_t i = 0; i < 2; i++) {
        struct scene *scene = scene_make("t-left-open");
        struct quick quick = {.at = scene_zero(scene) + 80000,
                              .n_phases = scene->routine.n_phases,
                              .unclear = rows[i].unclear};
        struct sl_live_ear ear = {quick_feed, no_finish, &quick};
        scene->rehearsal.ear = &ear;
        assert_int_equal(scene_run(scene), SL_OK);
        double after_s = scene->result.length_s - scene->result.from_s - scene->plan.line_s;
        /* The ear runs behind simulated time: at the earliest then, at the latest at the end. */
        if (rows[i].unclear) {
            assert_near(after_s, rows[i].after_line_s, 0.02);
        } else {
            assert_in_range((int)(after_s * 1000), 1490, 3020);
        }
        assert_int_equal(scene_count(scene, SL_EVENT_HEARD), scene->routine.n_phases);
        assert_near(scene_find(scene, SL_EVENT_HEARD, 0)->at_s, 5, 0.01);
        scene_free(scene);
    }
}

static void a_device_that_goes_leaves_what_was_recorded(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    scene->simulation.gone_at = 200050; /* in the middle of a block */
    scene_hear(scene, NULL, 40, 8000);
    assert_int_equal(scene_run(scene), SL_OK);
    assert_int_equal(scene->result.end, SL_REHEARSAL_GONE);
    assert_int_equal(scene_count(scene, SL_EVENT_GONE), 1);
    assert_false(scene->result.line_reached);
    size_t n = 0;
    int16_t *recorded = scene_recorded(scene, &n);
    assert_int_equal(n, 200050);
    assert_memory_equal(recorded, scene->signal, n * sizeof *recorded);
    free(recorded);
    struct sl_run_file run = {0};
    load_run(scene, &run);
    assert_string_equal(run.ended, "device-lost");
    sl_run_file_clear(&run);
    scene_free(scene);
}

static void a_device_that_stalls_is_waited_for_but_not_for_ever(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double stall_s;
        enum sl_rehearsal_end end;
        size_t resumed;
    } rows[] = {{"comes back", 3, SL_REHEARSAL_DONE, 1}, {"does not", 30, SL_REHEARSAL_GONE, 0}};
    for (size_t i = 0; i < 2; i++) {
        struct scene *scene = scene_make("t-left-open");
        scene->simulation.stalls_at = 200000;
        scene->simulation.stall_s = rows[i].stall_s;
        assert_int_equal(scene_run(scene), SL_OK);
        assert_int_equal(scene->result.end, rows[i].end);
        assert_int_equal(scene_count(scene, SL_EVENT_STALLED), 1);
        assert_int_equal(scene_count(scene, SL_EVENT_RESUMED), rows[i].resumed);
        scene_free(scene);
    }
}

static void a_run_that_is_stopped_is_kept(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    scene->stop_at = 500;
    assert_int_equal(scene_run(scene), SL_OK);
    assert_int_equal(scene->result.end, SL_REHEARSAL_STOPPED);
    assert_false(scene->result.from_known); /* 5 s in: the announcement is under way */
    assert_near(scene->result.length_s, 4.99, 0.02);
    size_t n = 0;
    free(scene_recorded(scene, &n));
    assert_near((double)n / SL_SOUND_RATE_HZ, scene->result.length_s, 1e-6);
    struct sl_run_file run = {0};
    load_run(scene, &run);
    assert_string_equal(run.ended, "stopped");
    assert_false(run.from_known);
    sl_run_file_clear(&run);
    scene_free(scene);
}

static void a_recording_is_never_overwritten(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    scene->stop_at = 10;
    assert_int_equal(scene_run(scene), SL_OK);
    scene->runs--;
    assert_int_equal(scene_run(scene), SL_INVALID);
    size_t n = 0;
    free(scene_recorded(scene, &n)); /* it is still there */
    assert_true(n > 0);
    scene_free(scene);
}

static void feedback_is_said_whole_after_the_run(void **state)
{
    (void)state;
    struct scene *scene = scene_make("t-left-open");
    scene->stop_at = 100;
    assert_int_equal(scene_run(scene), SL_OK);
    scene->stop_at = 0;
    uint64_t before = scene->result.written;
    sl_endpoint_wait(&scene->endpoint, (size_t)-1, 3); /* marking took three seconds */
    assert_int_equal(sl_rehearsal_say(&scene->rehearsal, &scene->result, "Well done.", NULL),
                     SL_OK);
    const int16_t *played = NULL;
    const struct sl_clip *clip = NULL;
    size_t n = 0;
    sl_endpoint_simulated_played(&scene->endpoint, &played, &n);
    assert_int_equal(sl_cue_voice_clip(scene->voice, "Well done.", &clip, NULL), SL_OK);
    bool found = false;
    for (size_t at = (size_t)before; at + clip->n <= n && !found; at++) {
        found = memcmp(played + at, clip->samples, clip->n * sizeof *played) == 0;
    }
    assert_true(found);
    scene_free(scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(events_come_when_the_plan_says),
        cmocka_unit_test(time_0_is_the_end_of_the_announcement_as_the_microphone_hears_it),
        cmocka_unit_test(cues_are_played_at_their_frames),
        cmocka_unit_test(every_captured_frame_is_recorded_however_slow_the_others_are),
        cmocka_unit_test(a_slow_ear_hears_all_and_holds_nothing_up),
        cmocka_unit_test(an_ear_that_falls_behind_is_told_once),
        cmocka_unit_test(a_run_ends_early_once_all_was_said_and_the_line_is_passed),
        cmocka_unit_test(a_device_that_goes_leaves_what_was_recorded),
        cmocka_unit_test(a_device_that_stalls_is_waited_for_but_not_for_ever),
        cmocka_unit_test(a_run_that_is_stopped_is_kept),
        cmocka_unit_test(a_recording_is_never_overwritten),
        cmocka_unit_test(feedback_is_said_whole_after_the_run),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
