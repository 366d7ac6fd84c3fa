/* The lines of a rehearsal, read back from standard output. */
#include "cli/screen.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct scene {
    struct sl_setup setup;
    struct sl_screen screen;
    FILE *lines; /* in place of standard output */
    int kept;
    char *text; /* what was printed */
};

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    struct sl_setup_names names = {.junction = "t-left-open"};
    assert_int_equal(sl_setup_load(&scene->setup, &names, NULL), SL_OK);
    assert_int_equal(sl_screen_plain(false, &scene->screen, NULL), SL_OK);
    scene->lines = tmpfile();
    assert_non_null(scene->lines);
    (void)fflush(stdout);
    scene->kept = dup(STDOUT_FILENO);
    assert_true(dup2(fileno(scene->lines), STDOUT_FILENO) >= 0);
    struct sl_screen_run run = {
        .setup = &scene->setup, .recording = "a.flac", .number = 1, .of = 1, .live_ear = true};
    scene->screen.begin(scene->screen.self, &run);
    *state = scene;
    return 0;
}

static void read_back(struct scene *scene)
{
    (void)fflush(stdout);
    (void)dup2(scene->kept, STDOUT_FILENO);
    long length = ftell(scene->lines);
    if (fseek(scene->lines, 0, SEEK_END) == 0) {
        length = ftell(scene->lines);
    }
    assert_true(length > 0);
    scene->text = calloc((size_t)length + 1, 1);
    rewind(scene->lines);
    assert_int_equal(fread(scene->text, 1, (size_t)length, scene->lines), length);
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    (void)dup2(scene->kept, STDOUT_FILENO);
    (void)close(scene->kept);
    (void)fclose(scene->lines);
    scene->screen.end(scene->screen.self);
    scene->screen.free(scene->screen.self);
    sl_setup_clear(&scene->setup);
    free(scene->text);
    free(scene);
    return 0;
}

static void happen(struct scene *scene, enum sl_event_kind kind, double at_s)
{
    struct sl_event event = {.kind = kind, .at_s = at_s, .distance_m = 100, .level_db = -30};
    scene->screen.event(scene->screen.self, &event);
}

/* A phrase comes out 0.2 s after its end. */
static void hear(struct scene *scene, size_t phase, const char *text, double from_s, double to_s)
{
    struct sl_heard heard = {
        .phase = phase, .text = (char *)text, .start_s = from_s, .end_s = to_s};
    happen(scene, SL_EVENT_LEVEL, to_s + 0.2);
    scene->screen.event(
        scene->screen.self,
        &(struct sl_event){.kind = SL_EVENT_HEARD, .at_s = from_s, .heard = &heard});
}

static size_t count(const char *text, const char *part)
{
    size_t n = 0;
    for (const char *at = strstr(text, part); at != NULL; at = strstr(at + 1, part)) {
        n++;
    }
    return n;
}

static void time_is_over_only_for_what_was_not_heard(void **state)
{
    struct scene *scene = *state;
    const struct sl_window *windows = scene->setup.plan.windows;
    hear(scene, 0, "centre mirror", windows[0].closes_s - 1, windows[0].closes_s - 0.1);
    happen(scene, SL_EVENT_CLOSES, windows[0].closes_s);
    for (double at_s = windows[0].closes_s; at_s < windows[1].closes_s + 1.5; at_s += 0.1) {
        happen(scene, SL_EVENT_LEVEL, at_s);
    }
    read_back(scene);
    assert_int_equal(count(scene->text, "the time is over"), 1);
    assert_non_null(strstr(scene->text, "Signal: nothing heard, and the time is over.\n"));
}

static void a_driven_car_is_told_by_what_it_does(void **state)
{
    struct scene *scene = *state;
    struct sl_screen_run run = {
        .setup = &scene->setup, .recording = "a.flac", .live_ear = true, .drives = true};
    char van[] = "Van from the right.";
    struct sl_cue road = {.kind = SL_CUE_ROAD, .text = van};
    struct sl_event gear = {.kind = SL_EVENT_GEAR, .at_s = 18, .speed_mps = 4.4704, .gear = 2};
    scene->screen.end(scene->screen.self);
    scene->screen.begin(scene->screen.self, &run);
    happen(scene, SL_EVENT_BRAKES, 12);
    scene->screen.event(scene->screen.self, &gear);
    scene->screen.event(scene->screen.self,
                        &(struct sl_event){.kind = SL_EVENT_CUE, .at_s = 19, .cue = &road});
    happen(scene, SL_EVENT_STANDS, 26);
    happen(scene, SL_EVENT_STALLS, 27);
    gear.kind = SL_EVENT_LINE;
    scene->screen.event(scene->screen.self, &gear);
    happen(scene, SL_EVENT_LEVEL, 60); /* nobody says that a time is over */
    read_back(scene);
    assert_non_null(strstr(scene->text, "The car does what you say"));
    assert_non_null(strstr(scene->text, "never while driving"));
    assert_non_null(strstr(scene->text, "  12.0 s  100 m  The car brakes.\n"));
    assert_non_null(strstr(scene->text, "In second gear, at 10 mph.\n"));
    assert_non_null(strstr(scene->text, "Road: Van from the right.\n"));
    assert_non_null(strstr(scene->text, "The car stands.\n"));
    assert_non_null(strstr(scene->text, "The engine has stalled.\n"));
    assert_non_null(strstr(scene->text, "At the line, at 10 mph.\n"));
    assert_null(strstr(scene->text, "the time is over"));
}

static void what_is_said_as_time_runs_out_is_waited_for(void **state)
{
    struct scene *scene = *state;
    const struct sl_window *mirrors = &scene->setup.plan.windows[0];
    happen(scene, SL_EVENT_CLOSES, mirrors->closes_s);
    hear(scene, 0, "centre mirror", mirrors->closes_s - 0.5, mirrors->closes_s + 0.5);
    happen(scene, SL_EVENT_LEVEL, mirrors->closes_s + 1.5);
    read_back(scene);
    assert_null(strstr(scene->text, "time is over"));
}

static void a_phrase_that_goes_on_is_told_by_its_new_words(void **state)
{
    struct scene *scene = *state;
    hear(scene, 3, "second gear", 16, 17);
    hear(scene, 3, "second gear clutch up", 16, 18);
    read_back(scene);
    assert_non_null(strstr(scene->text, "Heard: \"second gear\", Gear, said at 16.0 s.\n"));
    assert_non_null(strstr(scene->text, "Heard further: \"clutch up\", Gear.\n"));
}

static void other_words_come_instead_and_the_phase_counts_as_unheard_again(void **state)
{
    struct scene *scene = *state;
    const struct sl_window *gear = &scene->setup.plan.windows[3];
    hear(scene, 3, "second", 5, 6);
    hear(scene, 0, "checking inside", 5, 7);
    happen(scene, SL_EVENT_LEVEL, gear->closes_s + 2);
    read_back(scene);
    assert_non_null(
        strstr(scene->text, "Heard instead: \"checking inside\", Mirrors, said at 5.0 s.\n"));
    assert_non_null(strstr(scene->text, "Signal, Speed, Gear: nothing heard"));
}

static void listening_that_is_behind_is_told(void **state)
{
    struct scene *scene = *state;
    happen(scene, SL_EVENT_BEHIND, 3);
    read_back(scene);
    assert_non_null(
        strstr(scene->text, "Listening is more than 2 s behind: the computer is busy."));
}

static void the_line_is_told_once(void **state)
{
    struct scene *scene = *state;
    struct sl_cue cue = {.kind = SL_CUE_LINE, .text = (char[]){"Line."}};
    scene->screen.event(scene->screen.self,
                        &(struct sl_event){.kind = SL_EVENT_CUE, .at_s = 25, .cue = &cue});
    happen(scene, SL_EVENT_LINE, 25);
    read_back(scene);
    assert_null(strstr(scene->text, "Line"));
    assert_int_equal(count(scene->text, "At the line."), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(time_is_over_only_for_what_was_not_heard, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_driven_car_is_told_by_what_it_does, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_said_as_time_runs_out_is_waited_for, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_phrase_that_goes_on_is_told_by_its_new_words, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(
            other_words_come_instead_and_the_phase_counts_as_unheard_again, set_up, tear_down),
        cmocka_unit_test_setup_teardown(listening_that_is_behind_is_told, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_line_is_told_once, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
