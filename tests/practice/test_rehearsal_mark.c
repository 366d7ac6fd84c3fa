/* What comes of a rehearsal: the demo learners on a simulated microphone, with and without the cues
 * leaking into it. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "rehearsal_scene.h"
#include "support/near.h"

#define LEAK 0.1 /* -20 dB */

struct row {
    const char *name, *file, *junction;
    const char *phase;       /* of the one fault; NULL: none */
    enum sl_fault_kind kind; /* of it */
};

/* What the demo recordings hold is written in audio/demo/README.md. */
static const struct row rows[] = {
    {"clean, open", "clean-t-left-open", "t-left-open", NULL, 0},
    {"clean, closed", "clean-t-right-closed", "t-right-closed", NULL, 0},
    {"late gear", "late-gear", "t-left-open", "gear", SL_FAULT_LATE},
    {"missed signal", "missed-signal", "t-left-closed", "signal", SL_FAULT_MISSED},
    {"wrong gear", "wrong-gear", "t-left-open", "gear", SL_FAULT_WRONG_SETTING},
};

/* A small room: the direct sound and three reflections (made up, decaying). */
static void put_room(struct scene *scene, double *room, size_t n)
{
    memset(room, 0, n * sizeof *room);
    room[0] = 1;
    room[83] = 0.4;
    room[211] = -0.25;
    room[n - 1] = 0.1;
    scene->simulation.room = room;
    scene->simulation.n_room = n;
}

static void check_row(const struct row *row, struct scene *scene)
{
    const struct sl_mark *mark = &scene->attempt.mark;
    if (row->phase == NULL) {
        if (mark->n_faults != 0 || mark->scores.overall < 99.95) {
            fail_msg("%s: %zu faults, first %s; score %.1f", row->name, mark->n_faults,
                     mark->n_faults > 0 ? mark->faults[0].what : "", mark->scores.overall);
        }
        return;
    }
    size_t phase = sl_routine_phase(&scene->routine, row->phase);
    bool found = false;
    for (size_t i = 0; i < mark->n_faults; i++) {
        found = found || (mark->faults[i].phase == phase && mark->faults[i].kind == row->kind);
    }
    if (!found) {
        fail_msg("%s: the fault was not found among %zu", row->name, mark->n_faults);
    }
}

static void demo_learners_get_their_marks_live(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct scene *scene = scene_make(rows[i].junction);
        scene->simulation.delay_frames = 2000;
        scene_hear(scene, rows[i].file, 60, 4);
        assert_int_equal(scene_run(scene), SL_OK);
        scene_mark(scene);
        check_row(&rows[i], scene);
        scene_free(scene);
    }
}

static void cues_that_leak_in_cost_nothing(void **state)
{
    (void)state;
    double room[400];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (rows[i].phase != NULL) {
            continue; /* the clean ones, which want the full score, tell most */
        }
        struct scene *scene = scene_make(rows[i].junction);
        put_room(scene, room, 400);
        scene->simulation.delay_frames = 2000;
        scene->simulation.leak = LEAK;
        scene->rehearsal.echo = true;
        scene_hear(scene, rows[i].file, 60, 4);
        assert_int_equal(scene_run(scene), SL_OK);
        scene_mark(scene);
        check_row(&rows[i], scene);
        scene_free(scene);
    }
}

static void check_nothing_heard(const struct scene *scene)
{
    for (size_t k = 0; k < scene->attempt.heard.count; k++) {
        const struct sl_heard *heard = &scene->attempt.heard.items[k];
        if (heard->phase < scene->routine.n_phases) {
            fail_msg("%s, %s: \"%s\" was heard at %.1f s", scene->junction.name,
                     sl_prompting_word(scene->rehearsal.prompting), heard->text, heard->start_s);
        }
    }
}

/* The bar: cues are never taken for the learner's words. */
static void a_silent_learner_is_not_heard_at_any_level_of_prompting(void **state)
{
    (void)state;
    static const char *const junctions[] = {"t-left-open", "roundabout-ahead-open"};
    double room[400];
    for (size_t i = 0; i < sizeof junctions / sizeof *junctions; i++) {
        struct scene *scene = scene_make(junctions[i]);
        put_room(scene, room, 400);
        scene->simulation.delay_frames = 2000;
        scene->simulation.leak = LEAK;
        scene->rehearsal.echo = true;
        scene_hear(scene, NULL, 60, 4);
        for (int level = 0; level < SL_PROMPTING_COUNT; level++) {
            scene->rehearsal.prompting = (enum sl_prompting)level;
            assert_int_equal(scene_run(scene), SL_OK);
            scene_mark(scene);
            check_nothing_heard(scene);
        }
        scene_free(scene);
    }
}

/* Where the announcement is recorded as silence, that silence is not the room's. */
static void a_run_in_a_noisy_room_is_said_to_be_noisy(void **state)
{
    (void)state;
    double room[400];
    struct scene *scene = scene_make("t-left-open");
    put_room(scene, room, 400);
    scene->simulation.delay_frames = 2000;
    scene->simulation.leak = LEAK;
    scene->rehearsal.echo = true;
    scene_hear(scene, "clean-t-left-open", 60, 600); /* -39 dBFS: 12 dB below the voice */
    assert_int_equal(scene_run(scene), SL_OK);
    scene_mark(scene);
    print_message("noise %.0f, speech %.0f dBFS\n", scene->attempt.levels.noise_db,
                  scene->attempt.levels.speech_db);
    assert_float_equal(scene->attempt.levels.noise_db, -39, 3);
    assert_true((scene->attempt.levels.notices & SL_NOTICE_NOISY) != 0);
    assert_true((scene->attempt.hiding & SL_NOTICE_NOISY) != 0);
    scene_free(scene);
}

/* Two clocks that drift apart: no canceller converges. */
static void where_the_echo_stays_listening_turns_half_duplex_and_says_so_once(void **state)
{
    (void)state;
    double room[400];
    struct scene *scene = scene_make("t-left-open");
    put_room(scene, room, 400);
    scene->simulation.delay_frames = 2000;
    scene->simulation.leak = 0.3;
    scene->simulation.drift_ppm = 2000;
    scene->rehearsal.echo = true;
    scene_hear(scene, NULL, 60, 4);
    assert_int_equal(scene_run(scene), SL_OK);
    assert_int_equal(scene_count(scene, SL_EVENT_HALF_DUPLEX), 1);
    scene_mark(scene);
    check_nothing_heard(scene);
    scene_free(scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(demo_learners_get_their_marks_live),
        cmocka_unit_test(cues_that_leak_in_cost_nothing),
        cmocka_unit_test(a_silent_learner_is_not_heard_at_any_level_of_prompting),
        cmocka_unit_test(a_run_in_a_noisy_room_is_said_to_be_noisy),
        cmocka_unit_test(where_the_echo_stays_listening_turns_half_duplex_and_says_so_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
