/* A rehearsal in which the words drive a car: where it is called out, what is heard of it, when the
 * run is over. The learner's phrases come out of the ear a moment after they were said; the sound
 * waits for the ear, so that simulated time is real time to it. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdatomic.h>

#include "rehearsal_scene.h"
#include "sound/clock.h"
#include "support/near.h"

#define RATE ((double)SL_SOUND_RATE_HZ)
#define KNOWN_S 0.3 /* after its end a phrase comes out */
#define HAND_OVER_S 0.0003

/* One phrase: when it is said, on the plan's clock, and what. */
struct phrase {
    size_t phase;
    double at_s;
    struct sl_settings settings;
};

#define MIRRORS(at)                                                                                \
    {                                                                                              \
        0, at,                                                                                     \
        {                                                                                          \
            .mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT}, .n_mirrors = 2                        \
        }                                                                                          \
    }
#define SIGNAL(at)                                                                                 \
    {                                                                                              \
        1, at,                                                                                     \
        {                                                                                          \
            .signal = SL_SIGNAL_LEFT                                                               \
        }                                                                                          \
    }
#define SPEED(at)                                                                                  \
    {                                                                                              \
        2, at,                                                                                     \
        {                                                                                          \
            .speed_mps = 4.4704                                                                    \
        }                                                                                          \
    } /* 10 mph */
#define GEAR(at)                                                                                   \
    {                                                                                              \
        3, at,                                                                                     \
        {                                                                                          \
            .gear = 2, .clutch = SL_CLUTCH_UP                                                      \
        }                                                                                          \
    }
#define GO(at)                                                                                     \
    {                                                                                              \
        4, at,                                                                                     \
        {                                                                                          \
            .decision = SL_DECISION_GO                                                             \
        }                                                                                          \
    }
#define WAIT(at)                                                                                   \
    {                                                                                              \
        4, at,                                                                                     \
        {                                                                                          \
            .decision = SL_DECISION_WAIT                                                           \
        }                                                                                          \
    }

struct driver {
    struct scene *scene;
    const struct phrase *phrases;
    size_t n_phrases, next;
    size_t zero; /* frame of the plan's time 0 in what is captured */
    _Atomic(size_t) fed;
    size_t known_at[8]; /* frames fed when each phrase came out */

    struct sl_live_car *car;
    struct sl_situation others;
    struct sl_junction met;
    struct sl_task task;
    struct sl_rehearsal_drive driven;
    struct sl_live_ear ear;
};

static enum sl_status feed(void *self, const int16_t *samples, size_t n,
                           struct sl_heard_list *heard, struct sl_error *error)
{
    struct driver *driver = self;
    char text[] = "words";
    enum sl_status status = SL_OK;
    (void)samples;
    size_t fed = atomic_load(&driver->fed) + n;
    while (status == SL_OK && driver->next < driver->n_phrases) {
        const struct phrase *phrase = &driver->phrases[driver->next];
        double start_s = phrase->at_s + (double)driver->zero / RATE;
        struct sl_heard said = {.phase = phrase->phase,
                                .text = text,
                                .start_s = start_s,
                                .end_s = start_s + 1.0,
                                .confidence = 1.0,
                                .settings = phrase->settings};
        if ((double)fed / RATE < said.end_s + KNOWN_S) {
            break;
        }
        driver->known_at[driver->next++] = fed;
        status = sl_heard_add(heard, &said, error);
    }
    atomic_store(&driver->fed, fed);
    return status;
}

static enum sl_status finish(void *self, struct sl_heard_list *heard, struct sl_error *error)
{
    (void)self;
    (void)heard;
    (void)error;
    return SL_OK;
}

/* The sound's thread, a hundred times a second of simulated time. */
static bool wait_for_ear(void *user)
{
    struct driver *driver = user;
    size_t captured = (size_t)sl_endpoint_facts(&driver->scene->endpoint).captured;
    while (atomic_load(&driver->fed) < captured) {
        sl_clock_sleep_s(HAND_OVER_S);
    }
    sl_clock_sleep_s(HAND_OVER_S); /* and the car is driven */
    return false;
}

static void take_event(void *user, const struct sl_event *event)
{
    scene_event(((struct driver *)user)->scene, event);
}

static struct driver *drive(const struct phrase *phrases, size_t n)
{
    struct driver *driver = calloc(1, sizeof *driver);
    assert_non_null(driver);
    struct scene *scene = scene_make("t-left-open");
    *driver = (struct driver){.scene = scene,
                              .phrases = phrases,
                              .n_phrases = n,
                              .zero = scene_zero(scene),
                              .met = scene->junction};
    driver->task = (struct sl_task){
        .routine = &scene->routine, .junction = &driver->met, .plan = &scene->plan};
    assert_int_equal(sl_live_car_new(&driver->task, &scene->car, &driver->car, NULL), SL_OK);
    driver->driven = (struct sl_rehearsal_drive){driver->car, &driver->others, &driver->met};
    driver->ear = (struct sl_live_ear){feed, finish, driver};
    scene->rehearsal.driven = &driver->driven;
    scene->rehearsal.ear = &driver->ear;
    scene->rehearsal.stop = wait_for_ear;
    scene->rehearsal.event = take_event;
    scene->rehearsal.user = driver;
    return driver;
}

static void driver_free(struct driver *driver)
{
    scene_free(driver->scene);
    sl_live_car_free(driver->car);
    free(driver);
}

/* What was played, from the plan's time 0 on. */
static const int16_t *played_from_zero(const struct driver *driver, size_t *n)
{
    const int16_t *played = NULL;
    sl_endpoint_simulated_played(&driver->scene->endpoint, &played, n);
    assert_true(*n > driver->zero);
    *n -= driver->zero;
    return played + driver->zero;
}

static void nothing_said_and_the_car_is_past_the_line_at_its_speed(void **state)
{
    (void)state;
    struct driver *driver = drive(NULL, 0);
    struct scene *scene = driver->scene;
    assert_int_equal(scene_run(scene), SL_OK);
    assert_int_equal(scene->result.end, SL_REHEARSAL_DONE);
    const struct seen *line = scene_find(scene, SL_EVENT_LINE, 0);
    double line_s = scene->plan.distance_m / scene->plan.approach_mps;
    assert_near(line->at_s, line_s, 0.1);
    assert_near(line->speed_mps, scene->plan.approach_mps, 0.05);
    assert_true(line_s < scene->plan.line_s - 5.0); /* the plan would have slowed */
    double over_s = scene->result.length_s - scene->result.from_s;
    assert_near(over_s, line_s + 12.0 / scene->plan.approach_mps + SL_LIVE_CAR_GONE_S, 0.15);
    /* Nothing tells when to say what. */
    assert_int_equal(scene_count(scene, SL_EVENT_OPENS) + scene_count(scene, SL_EVENT_CLOSES), 0);
    assert_int_equal(scene_count(scene, SL_EVENT_BRAKES) + scene_count(scene, SL_EVENT_GEAR), 0);
    driver_free(driver);
}

static void what_is_said_is_done_and_the_place_is_called_out(void **state)
{
    (void)state;
    static const struct phrase phrases[] = {MIRRORS(5.0), SIGNAL(8.0), SPEED(11.6), GEAR(17.2),
                                            GO(21.0)};
    struct driver *driver = drive(phrases, 5);
    struct scene *scene = driver->scene;
    assert_int_equal(scene_run(scene), SL_OK);
    assert_int_equal(scene_count(scene, SL_EVENT_HEARD), 5);
    assert_int_equal(scene_count(scene, SL_EVENT_BRAKES), 1);
    assert_int_equal(scene_count(scene, SL_EVENT_GEAR), 1);
    const struct seen *line = scene_find(scene, SL_EVENT_LINE, 0);
    assert_near(line->at_s, scene->plan.line_s, 1.0);
    assert_near(line->speed_mps, 4.4704, 0.2);
    size_t calls = 0;
    for (size_t i = 0; i < scene_count(scene, SL_EVENT_CUE); i++) {
        const struct seen *cue = scene_find(scene, SL_EVENT_CUE, i);
        if (cue->cue == SL_CUE_DISTANCE) {
            /* It sounds when the frames that are made now are played. */
            double ahead_m = cue->speed_mps * (cue->cue_at_s - cue->at_s);
            double called_m = round((cue->distance_m - ahead_m) / 10.0) * 10.0;
            assert_near(cue->distance_m - ahead_m, called_m, 0.6);
            assert_near(cue->cue_at_s - cue->at_s, SL_REHEARSAL_CAR_AHEAD_S, 0.02);
            calls++;
        }
    }
    assert_in_range(calls, 2, 5);
    assert_int_equal(scene_find(scene, SL_EVENT_CUE, scene_count(scene, SL_EVENT_CUE) - 1)->cue,
                     SL_CUE_LINE);
    driver_free(driver);
}

static void a_car_that_stands_ends_the_run(void **state)
{
    (void)state;
    static const struct phrase phrases[] = {SPEED(11.6), GEAR(17.2), WAIT(21.0)};
    struct driver *driver = drive(phrases, 3);
    struct scene *scene = driver->scene;
    assert_int_equal(scene_run(scene), SL_OK);
    const struct seen *stands = scene_find(scene, SL_EVENT_STANDS, 0);
    assert_near(stands->distance_m, 0.5, 0.2);
    assert_true(scene->result.line_reached);
    double over_s = scene->result.length_s - scene->result.from_s;
    assert_near(over_s, stands->at_s + SL_LIVE_CAR_STANDS_S, 0.1);
    driver_free(driver);
}

/* When the cue of the others begins to sound. */
static double others_cue_s(const struct scene *scene)
{
    for (size_t i = 0;; i++) { /* fails when there is none */
        const struct seen *cue = scene_find(scene, SL_EVENT_CUE, i);
        if (cue->cue == SL_CUE_ROAD) {
            return cue->cue_at_s;
        }
    }
}

/* A car that slows comes there later than one that does not; a report made from the words alone
 * says the same moment. A distance that would be said at the same time is left out. */
static void others_are_called_out_where_the_car_meets_them(void **state)
{
    (void)state;
    static const struct phrase phrases[] = {SPEED(6.0)};
    double met_s[2];
    for (size_t n = 0; n <= 1; n++) {
        struct driver *driver = drive(phrases, n);
        struct scene *scene = driver->scene;
        driver->others = (struct sl_situation){
            .events = {{48.0, "Van from the right."}}, .n_events = 1, .traffic = SL_TRAFFIC_BUSY};
        assert_int_equal(scene_run(scene), SL_OK);
        met_s[n] = others_cue_s(scene);
        const struct sl_drive *drive = sl_live_car_drive(driver->car);
        assert_near(met_s[n], sl_drive_time_s(drive, 48.0), 0.02);
        for (size_t i = 0; i < scene_count(scene, SL_EVENT_CUE); i++) {
            const struct seen *cue = scene_find(scene, SL_EVENT_CUE, i);
            bool call = cue->cue == SL_CUE_DISTANCE;
            assert_false(call && fabs(cue->cue_at_s - met_s[n]) < 0.5);
        }
        driver_free(driver);
    }
    assert_true(met_s[1] > met_s[0] + 3.0);
}

/* A silent learner's car sounds the same up to the first word; from then on another. */
static void a_word_changes_the_sound_as_soon_as_it_is_known(void **state)
{
    (void)state;
    static const struct phrase phrases[] = {SPEED(6.0)};
    struct driver *silent = drive(NULL, 0);
    struct driver *speaks = drive(phrases, 1);
    size_t n_silent = 0;
    size_t n = 0;
    assert_int_equal(scene_run(silent->scene), SL_OK);
    assert_int_equal(scene_run(speaks->scene), SL_OK);
    const int16_t *without = played_from_zero(silent, &n_silent);
    const int16_t *with = played_from_zero(speaks, &n);
    size_t at = 0;
    while (at < n && at < n_silent && with[at] == without[at]) {
        at++;
    }
    double changed_s = (double)at / RATE;
    double known_s = (double)(speaks->known_at[0] - speaks->zero) / RATE;
    assert_near(known_s, 7.3, 0.03);
    assert_true(changed_s > known_s);
    assert_near(changed_s, known_s + SL_REHEARSAL_CAR_AHEAD_S, 0.05);
    driver_free(silent);
    driver_free(speaks);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_said_and_the_car_is_past_the_line_at_its_speed),
        cmocka_unit_test(what_is_said_is_done_and_the_place_is_called_out),
        cmocka_unit_test(a_car_that_stands_ends_the_run),
        cmocka_unit_test(others_are_called_out_where_the_car_meets_them),
        cmocka_unit_test(a_word_changes_the_sound_as_soon_as_it_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
