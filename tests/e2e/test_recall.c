/* sayline recall as a program: typed sessions, its memory, wrong use. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

/* A command with a memory of its own in `folder`. */
static struct sl_ran run_in(const char *folder, const char *command)
{
    char *line = sl_strf("export XDG_DATA_HOME='%s'\n%s", folder, command);
    struct sl_ran ran = sl_run(line);
    free(line);
    return ran;
}

static void a_typed_session_is_judged_and_remembered(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran =
        run_in(folder, "printf '%s\\n' 'open second gear clutch up ten interior left signal left' "
                       "| sayline recall --typed --count 1 t-left-open");
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.out, "Right: open,"));
    assert_null(strstr(ran.out, "Wrong:"));
    assert_null(strstr(ran.out, "Not said:"));
    assert_non_null(strstr(ran.out, "1 answered: 1 right at once"));
    sl_ran_clear(&ran);
    ran = run_in(folder, "cat $XDG_DATA_HOME/sayline/recall.json");
    assert_non_null(strstr(ran.out, "\"decide-last/t-left-open\""));
    assert_non_null(strstr(ran.out, "\"half_life_s\": 86400"));
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

static void the_reason_is_told_with_what_was_wrong(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran =
        run_in(folder, "printf '%s\\n' 'closed, 5 mph, 1st gear, clutch down' | sayline recall "
                       "--typed --count 1 t-left-open");
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.out, "Wrong: view: you said closed; right is open."));
    assert_non_null(strstr(ran.out, "you said 5 mph; right is 10 mph (8 to 12 mph"));
    assert_non_null(strstr(ran.out, "Not said: signal; right is signal left."));
    assert_non_null(strstr(ran.out, "It comes back early in the next session."));
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

static void ctrl_d_ends_with_a_summary_and_lines_of_no_use_do_not_count(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran = run_in(folder, "printf 'hm\\n\\nopen' | sayline recall --typed --scenes");
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.out, "Nothing of that was understood"));
    assert_non_null(strstr(ran.out, "1 answered"));
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

static size_t count_lines(const char *text)
{
    size_t n = 0;
    for (; *text != '\0'; text++) {
        n += *text == '\n' ? 1 : 0;
    }
    return n;
}

static void json_is_an_object_an_answer_and_one_for_the_session(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran = run_in(folder, "printf 'open\\nclosed\\npass\\n' | sayline recall --typed "
                                       "--scenes --json --seed 7 --count 3");
    assert_int_equal(ran.code, 0);
    assert_int_equal(count_lines(ran.out), 4);
    size_t n_right = 0;
    char *at = ran.out;
    for (size_t i = 0; i < 4; i++) {
        char *end = strchr(at, '\n');
        *end = '\0';
        json_t *object = json_loads(at, 0, NULL);
        assert_non_null(object);
        const char *view =
            json_string_value(json_object_get(json_object_get(object, "parts"), "view"));
        n_right += view != NULL && strcmp(view, "right") == 0 ? 1 : 0;
        if (i == 2) {
            assert_true(json_is_true(json_object_get(object, "gave_up")));
        }
        if (i == 3) {
            const json_t *summary = json_object_get(object, "summary");
            assert_int_equal(json_integer_value(json_object_get(summary, "answered")), 3);
            const json_t *parts = json_object_get(json_object_get(summary, "parts"), "view");
            assert_int_equal(json_integer_value(json_object_get(parts, "right")), n_right);
        }
        json_decref(object);
        at = end + 1;
    }
    assert_non_null(strstr(ran.err, "Question 1 of 3"));
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

static void one_seed_asks_the_same_questions(void **state)
{
    (void)state;
    static const char command[] = "printf 'open\\nopen\\nopen\\nopen\\n' | sayline recall --typed "
                                  "--scenes --count 4 --seed 3";
    struct sl_ran runs[2];
    for (size_t i = 0; i < 2; i++) {
        char *folder = sl_scratch_make();
        runs[i] = run_in(folder, command);
        sl_scratch_remove(folder);
    }
    assert_int_equal(runs[0].code, 0);
    assert_string_equal(runs[0].out, runs[1].out);
    sl_ran_clear(&runs[0]);
    sl_ran_clear(&runs[1]);
}

/* The answer is taken from the model commentary: its first phrase names the mirrors. */
static void a_recording_stands_in_for_the_microphone(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran = run_in(
        folder, "sayline hear --out $XDG_DATA_HOME/model.flac t-left-open >/dev/null && sayline "
                "recall --mic $XDG_DATA_HOME/model.flac --json --count 1 t-left-open");
    if (ran.code != 0) {
        fail_msg("%s%s", ran.out, ran.err);
    }
    assert_non_null(strstr(ran.out, "\"parts\""));
    assert_null(strstr(ran.out, "\"heard\":null"));
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

#define RIGHT_OPEN "open, 10 mph, second gear, clutch up, interior and left mirror, signal left"
#define RIGHT_CLOSED "closed, 5 mph, first gear, clutch down, interior and left mirror, signal left"

/* What was said wrong in a run is asked next, and the model tells what a wrong answer would do. */
static void a_wrong_setting_in_a_run_is_asked_again_and_driven(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran = run_in(
        folder,
        "know() { echo \"$2\" | sayline recall --typed --count 1 $1 >/dev/null; sleep 1; }\n"
        "next() { sayline recall --typed --count 1 t-left-closed t-left-open </dev/null |"
        " grep -o 'see nothing' || echo 'see far'; }\n"
        "know t-left-closed '" RIGHT_CLOSED "'; know t-left-open '" RIGHT_OPEN "'\n"
        "[ \"$(next)\" = 'see nothing' ] || exit 90\n" /* known, and asked longer ago */
        "sayline mark --keep -j t-left-open audio/demo/wrong-mirror.flac >/dev/null || exit 91\n"
        "sleep 1; [ \"$(next)\" = 'see far' ] || exit 92\n"
        "slip() { echo \"$1\" | sayline recall --typed --json --count 1 t-left-open "
        "2>$XDG_DATA_HOME/err |"
        " grep -c '\"slipped\":true'; grep -c 'wrong in a run since' $XDG_DATA_HOME/err; }\n"
        "[ \"$(slip pass | xargs)\" = '1 1' ] || exit 93\n"
        "[ \"$(slip pass | xargs)\" = '0 0' ] || exit 94");
    if (ran.code != 0) {
        fail_msg("exit code %d\n%s%s", ran.code, ran.out, ran.err);
    }
    sl_ran_clear(&ran);
    ran = run_in(folder, "echo 'open, 10 mph, fifth gear, clutch up, interior and left mirror, "
                         "signal left' | sayline recall --typed --json --count 1 t-left-open");
    assert_non_null(strstr(ran.out, "\"car\":[{\"part\":\"gear\",\"name\":\"stall\",\"what\":\"The "
                                    "engine stalled "));
    sl_ran_clear(&ran);
    ran = run_in(folder, "echo '" RIGHT_OPEN "' | sayline recall --typed --json --count 1 "
                         "t-left-open");
    assert_non_null(strstr(ran.out, "\"car\":[]"));
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

static void wrong_use_and_broken_files_are_said(void **state)
{
    (void)state;
    static const struct {
        const char *name, *command;
        int code;
        const char *err;
    } rows[] = {
        {"count 0", "sayline recall --typed --count 0", 2, "--count"},
        {"count 1.5", "sayline recall --typed --count 1.5", 2, "--count"},
        {"seed", "sayline recall --typed --seed x", 2, "--seed"},
        {"typed and mic", "sayline recall --typed --mic a.flac", 2, "--typed"},
        {"scenes of a junction", "sayline recall --typed --scenes t-left-open", 2, "--scenes"},
        {"unknown junction", "sayline recall --typed t-left-opne", 2, "t-left-open"},
        {"a junction twice", "sayline recall --typed t-left-open t-left-open", 1, "same name"},
        {"no recording", "sayline recall --scenes --mic nosuch.flac", 2, "nosuch.flac"},
        {"a broken memory",
         "mkdir -p $XDG_DATA_HOME/sayline; echo x >$XDG_DATA_HOME/sayline/recall.json; sayline "
         "recall --typed",
         1, "recall.json"},
        {"a full disk", "echo open | sayline recall --typed --scenes >/dev/full", 1, "No space"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *folder = sl_scratch_make();
        struct sl_ran ran = run_in(folder, rows[i].command);
        if (ran.code != rows[i].code || strstr(ran.err, rows[i].err) == NULL) {
            fail_msg("%s: exit code %d\n%s%s", rows[i].name, ran.code, ran.out, ran.err);
        }
        sl_ran_clear(&ran);
        sl_scratch_remove(folder);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_typed_session_is_judged_and_remembered),
        cmocka_unit_test(the_reason_is_told_with_what_was_wrong),
        cmocka_unit_test(ctrl_d_ends_with_a_summary_and_lines_of_no_use_do_not_count),
        cmocka_unit_test(json_is_an_object_an_answer_and_one_for_the_session),
        cmocka_unit_test(one_seed_asks_the_same_questions),
        cmocka_unit_test(a_recording_stands_in_for_the_microphone),
        cmocka_unit_test(a_wrong_setting_in_a_run_is_asked_again_and_driven),
        cmocka_unit_test(wrong_use_and_broken_files_are_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
