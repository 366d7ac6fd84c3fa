#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "core/cueing.h"
#include "core/str.h"
#include "support/hand_plan.h"
#include "support/random.h"

/* A quarter of a second and 65 ms a letter: near what the shipped voice takes. */
static double usual_length_s(void *user, const char *text)
{
    (void)user;
    return 0.25 + 0.065 * (double)strlen(text);
}

static double cannot_be_spoken(void *user, const char *text)
{
    (void)user;
    return strcmp(text, "Line.") == 0 ? -1 : 1;
}

struct scene {
    struct hand_phases phases;
    struct sl_routine routine;
    struct sl_junction junction;
    struct sl_plan plan;
    struct sl_cueing cueing;
    struct sl_cue_list cues;
};

/* The pointers lead into the scene: it must not be copied. */
static enum sl_status scene_plan(struct scene *scene)
{
    static char titles[][8] = {"Mirrors", "Signal", "Speed", "Gear", "Decide"};
    struct sl_car car = hand_car();
    scene->phases = hand_phases_usual();
    for (size_t i = 0; i < scene->phases.n_phases; i++) {
        scene->phases.phases[i].title = titles[i];
    }
    scene->routine = hand_routine(&scene->phases);
    scene->cueing = (struct sl_cueing){.junction = &scene->junction,
                                       .routine = &scene->routine,
                                       .plan = &scene->plan,
                                       .length_s = usual_length_s};
    return sl_plan_make(&scene->junction, &scene->routine, &car, &scene->plan, NULL);
}

static void make(struct scene *scene, enum sl_prompting prompting)
{
    assert_int_equal(sl_cues_make(&scene->cueing, prompting, &scene->cues, NULL), SL_OK);
}

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    scene->junction = hand_junction();
    assert_int_equal(scene_plan(scene), SL_OK);
    *state = scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    sl_cue_list_clear(&scene->cues);
    free(scene);
    return 0;
}

static size_t count_kind(const struct scene *scene, enum sl_cue_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < scene->cues.count; i++) {
        n += scene->cues.items[i].kind == kind ? 1 : 0;
    }
    return n;
}

static void the_announcement_ends_at_time_0_at_every_level(void **state)
{
    struct scene *scene = *state;
    for (int level = 0; level < SL_PROMPTING_COUNT; level++) {
        make(scene, (enum sl_prompting)level);
        const struct sl_cue *first = &scene->cues.items[0];
        assert_int_equal(first->kind, SL_CUE_ANNOUNCE);
        assert_true(first->end_s == 0);
        assert_near(first->at_s, -usual_length_s(NULL, first->text), 1e-12);
        assert_near(first->distance_m, scene->plan.distance_m, 1e-9);
    }
}

static void full_asks_before_each_phase_and_ends_in_time_to_answer(void **state)
{
    struct scene *scene = *state;
    static const char *const texts[] = {"Mirrors?", "Signal?", "Speed?", "Gear?", "Decide?"};
    make(scene, SL_PROMPTING_FULL);
    size_t phase = 0;
    for (size_t i = 0; i < scene->cues.count; i++) {
        const struct sl_cue *cue = &scene->cues.items[i];
        if (cue->kind == SL_CUE_PHASE) {
            assert_int_equal(cue->phase, phase);
            assert_string_equal(cue->text, texts[phase]);
            assert_near(cue->end_s, scene->plan.windows[phase].due_s - SL_CUE_LEAD_S, 1e-9);
            phase++;
        }
    }
    assert_int_equal(phase, 5);
}

static void partial_calls_distances_and_the_line_and_asks_nothing(void **state)
{
    struct scene *scene = *state;
    make(scene, SL_PROMPTING_PARTIAL);
    assert_int_equal(count_kind(scene, SL_CUE_PHASE), 0);
    assert_int_equal(count_kind(scene, SL_CUE_LINE), 1);
    assert_true(count_kind(scene, SL_CUE_DISTANCE) >= 3);
}

static void none_announces_and_is_silent(void **state)
{
    struct scene *scene = *state;
    make(scene, SL_PROMPTING_NONE);
    assert_int_equal(scene->cues.count, 1);
}

static void a_distance_is_called_where_the_car_is(void **state)
{
    struct scene *scene = *state;
    make(scene, SL_PROMPTING_PARTIAL);
    for (size_t i = 0; i < scene->cues.count; i++) {
        const struct sl_cue *cue = &scene->cues.items[i];
        if (cue->kind == SL_CUE_DISTANCE) {
            assert_near(sl_plan_distance_m(&scene->plan, cue->at_s), cue->distance_m, 1e-6);
            assert_near(fmod(cue->distance_m, 10), 0, 1e-9);
        }
    }
    const struct sl_cue *last = &scene->cues.items[scene->cues.count - 1];
    assert_int_equal(last->kind, SL_CUE_LINE);
    assert_near(last->at_s, scene->plan.line_s, 1e-12);
    assert_string_equal(last->text, "Line.");
}

static const struct {
    const char *name;
    struct sl_junction junction;
    double distance_m;
    const char *text;
} announcements[] = {
    {"a plain one",
     {.kind = SL_KIND_T, .approach_mps = 30 * SL_MPS_PER_MPH},
     240,
     "T-junction. Turn left. The view is open. Thirty miles an hour. Two hundred and forty "
     "metres."},
    {"a stop line",
     {.kind = SL_KIND_CROSSROADS,
      .control = SL_CONTROL_STOP,
      .turn = SL_TURN_AHEAD,
      .view = SL_VIEW_CLOSED,
      .approach_mps = 20 * SL_MPS_PER_MPH},
     87,
     "Crossroads. Straight ahead. The view is closed. Stop line. Twenty miles an hour. Eighty-five "
     "metres."},
    {"all that may be said",
     {.kind = SL_KIND_MAJOR,
      .turn = SL_TURN_RIGHT,
      .signal_misleads = true,
      .traffic = SL_TRAFFIC_BUSY,
      .approach_mps = 40 * SL_MPS_PER_MPH},
     304,
     "Side road. Turn right. The view is open. A signal here would mislead. Traffic is coming. "
     "Forty miles an hour. Three hundred metres."},
};

static void the_announcement_says_what_is_to_be_known(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof announcements / sizeof *announcements; i++) {
        struct sl_plan plan = {.view = announcements[i].junction.view,
                               .approach_mps = announcements[i].junction.approach_mps,
                               .distance_m = announcements[i].distance_m};
        char *text = sl_announcement(&announcements[i].junction, &plan);
        assert_string_equal(text, announcements[i].text);
        free(text);
    }
}

static void a_text_that_cannot_be_spoken_is_an_error_and_leaves_no_cue(void **state)
{
    struct scene *scene = *state;
    struct sl_error error = {0};
    scene->cueing.length_s = cannot_be_spoken;
    assert_int_equal(sl_cues_make(&scene->cueing, SL_PROMPTING_FULL, &scene->cues, &error),
                     SL_UNSUPPORTED);
    assert_non_null(strstr(error.what, "Line."));
    assert_int_equal(scene->cues.count, 0);
    sl_error_clear(&error);
}

static void sentences_are_told_apart(void **state)
{
    (void)state;
    assert_int_equal(sl_sentence_length("Turn left. Go."), 10);
    assert_int_equal(sl_sentence_length("Mirrors?"), 8);
    assert_int_equal(sl_sentence_length("3.5 metres. More"), 11);
    assert_int_equal(sl_sentence_length("no mark"), 7);
    assert_int_equal(sl_sentence_length(""), 0);
}

/* What holds for every junction, squeezed or not. */
static void check_list(const struct scene *scene)
{
    for (size_t i = 0; i < scene->cues.count; i++) {
        const struct sl_cue *cue = &scene->cues.items[i];
        assert_true(cue->end_s >= cue->at_s);
        assert_true(cue->at_s <= scene->plan.line_s);
        if (i > 0) {
            assert_true(cue->at_s >= scene->cues.items[i - 1].end_s);
        }
        if (cue->kind == SL_CUE_PHASE) {
            assert_true(cue->end_s <= scene->plan.windows[cue->phase].due_s);
        }
        for (size_t phase = 0; cue->kind == SL_CUE_DISTANCE && phase < scene->plan.n_windows;
             phase++) {
            double due_s = scene->plan.windows[phase].due_s;
            assert_true(cue->end_s <= due_s - SL_CUE_LEAD_S || cue->at_s >= due_s + SL_CUE_TALK_S);
        }
    }
}

static void random_junction(struct sl_junction *junction, uint64_t *random)
{
    *junction = (struct sl_junction){
        .kind = (enum sl_kind)random_below(random, SL_KIND_COUNT),
        .control = (enum sl_control)random_below(random, 2),
        .turn = (enum sl_turn)random_below(random, 2),
        .view = (enum sl_view)random_below(random, SL_VIEW_COUNT),
        .approach_mps = sl_mps_from_mph(11 + 59 * random_share(random)),
        .distance_m = random_below(random, 3) == 0 ? 0 : 30 + 500 * random_share(random),
        .gradient = 0.3 * random_share(random) - 0.15,
    };
}

static void cues_of_any_junction_keep_apart(void **state)
{
    struct scene *scene = *state;
    uint64_t random = 7;
    int planned = 0;
    int squeezed = 0;
    for (int run = 0; run < 3000; run++) {
        random_junction(&scene->junction, &random);
        if (scene_plan(scene) != SL_OK) {
            continue;
        }
        planned++;
        squeezed += scene->plan.long_enough ? 0 : 1;
        for (int level = 0; level < SL_PROMPTING_COUNT; level++) {
            make(scene, (enum sl_prompting)level);
            check_list(scene);
        }
        make(scene, SL_PROMPTING_FULL);
        /* With hardly any slowing, speed and gear are due together: no time to ask for both. */
        bool apart = scene->plan.gear_s - scene->plan.brake_s > 2;
        if (scene->plan.long_enough && apart) {
            assert_int_equal(count_kind(scene, SL_CUE_PHASE), 5);
        }
    }
    assert_true(planned > 1500 && squeezed > 300);
}

/* A pack made from sl_cues_every lacks nothing, whatever the lengths. */
static void every_cue_is_among_every_cue(void **state)
{
    struct scene *scene = *state;
    struct sl_cue_list every = {0};
    uint64_t random = 11;
    for (int run = 0; run < 300; run++) {
        random_junction(&scene->junction, &random);
        if (scene_plan(scene) != SL_OK) {
            continue;
        }
        assert_int_equal(sl_cues_every(&scene->cueing, &every, NULL), SL_OK);
        make(scene, run % 2 == 0 ? SL_PROMPTING_FULL : SL_PROMPTING_PARTIAL);
        for (size_t i = 0; i < scene->cues.count; i++) {
            size_t found = 0;
            while (found < every.count &&
                   strcmp(every.items[found].text, scene->cues.items[i].text) != 0) {
                found++;
            }
            assert_true(found < every.count);
        }
    }
    sl_cue_list_clear(&every);
}

/* What only the driven car knows has a length and no moment. */
static void a_driven_approach_leaves_open_when_the_car_is_where(void **state)
{
    struct scene *scene = *state;
    struct sl_situation others = {.events = {{45.0, "Van from the right."}}, .n_events = 1};
    assert_int_equal(sl_cues_make_driven(&scene->cueing, &others, &scene->cues, NULL), SL_OK);
    const struct sl_cue *items = scene->cues.items;
    assert_int_equal(items[0].kind, SL_CUE_ANNOUNCE);
    double before_m = scene->plan.distance_m + 1;
    for (size_t i = 1; i < scene->cues.count; i++) {
        bool last = i + 1 == scene->cues.count;
        bool van = items[i].distance_m > 44 && items[i].distance_m < 46;
        assert_int_equal(items[i].kind, last ? SL_CUE_LINE : van ? SL_CUE_ROAD : SL_CUE_DISTANCE);
        assert_true(isinf(items[i].at_s));
        assert_near(items[i].end_s, usual_length_s(NULL, items[i].text), 1e-9);
        assert_true(items[i].distance_m < before_m);
        before_m = items[i].distance_m;
    }
    assert_near(before_m, 0, 1e-9);
    /* Every 50 m, then 30, 20 and 10, the line: nothing was left out for want of room. */
    size_t fifties = (size_t)(scene->plan.distance_m / 50);
    assert_int_equal(scene->cues.count, 2 + fifties + 3 + 1);
    assert_int_equal(count_kind(scene, SL_CUE_ROAD), 1);
    others.events[0].distance_m = 50; /* where a distance is called, others come first */
    assert_int_equal(sl_cues_make_driven(&scene->cueing, &others, &scene->cues, NULL), SL_OK);
    assert_int_equal(scene->cues.items[fifties].kind, SL_CUE_ROAD);
    assert_int_equal(scene->cues.items[fifties + 1].kind, SL_CUE_DISTANCE);
    assert_int_equal(sl_cues_make_driven(&scene->cueing, NULL, &scene->cues, NULL), SL_OK);
    assert_int_equal(count_kind(scene, SL_CUE_ROAD), 0);
    scene->cueing.length_s = cannot_be_spoken;
    assert_int_equal(sl_cues_make_driven(&scene->cueing, NULL, &scene->cues, NULL), SL_UNSUPPORTED);
    assert_int_equal(scene->cues.count, 0);
}

/* 1 s of quiet between two calls, 0.2 s beside other cues; none into a moment to speak. */
static void a_call_keeps_out_of_the_way(void **state)
{
    struct scene *scene = *state;
    struct sl_cue_list none = {0};
    double first_s = scene->plan.windows[0].due_s;
    double last_s = scene->plan.windows[scene->plan.n_windows - 1].due_s;
    const struct {
        double at_s;
        bool fits;
    } rows[] = {{first_s - 1.6, true},  {first_s - 1.4, false}, {first_s, false},
                {first_s + 1.9, false}, {last_s + 1.9, false},  {last_s + 2.1, true}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_cue call = {
            .kind = SL_CUE_DISTANCE, .at_s = rows[i].at_s, .end_s = rows[i].at_s + 1};
        assert_int_equal(sl_cue_has_room(&scene->plan, &none, &call), rows[i].fits);
    }
    char text[] = "Fifty metres.";
    struct sl_cue before = {.kind = SL_CUE_DISTANCE, .at_s = 100, .end_s = 101, .text = text};
    struct sl_cue call = {.kind = SL_CUE_DISTANCE, .at_s = 101.9, .end_s = 103};
    assert_int_equal(sl_cue_list_add(&scene->cues, &before, NULL), SL_OK);
    assert_false(sl_cue_has_room(&scene->plan, &scene->cues, &call));
    scene->cues.items[0].kind = SL_CUE_ROAD;
    assert_true(sl_cue_has_room(&scene->plan, &scene->cues, &call));
}

int main(void)
{
#define WITH_SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        WITH_SCENE(the_announcement_ends_at_time_0_at_every_level),
        WITH_SCENE(full_asks_before_each_phase_and_ends_in_time_to_answer),
        WITH_SCENE(partial_calls_distances_and_the_line_and_asks_nothing),
        WITH_SCENE(none_announces_and_is_silent),
        WITH_SCENE(a_distance_is_called_where_the_car_is),
        cmocka_unit_test(the_announcement_says_what_is_to_be_known),
        WITH_SCENE(a_text_that_cannot_be_spoken_is_an_error_and_leaves_no_cue),
        cmocka_unit_test(sentences_are_told_apart),
        WITH_SCENE(cues_of_any_junction_keep_apart),
        WITH_SCENE(every_cue_is_among_every_cue),
        WITH_SCENE(a_driven_approach_leaves_open_when_the_car_is_where),
        WITH_SCENE(a_call_keeps_out_of_the_way),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
