/* `sayline soundcheck` without a device: its file, its recording, its exit codes. */
#include "support/program.h"

#include "core/str.h"

#include <jansson.h>
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

/* Runs a command line in which %s is a folder of the test's own. */
static struct sl_ran run_in(const char *folder, const char *line)
{
    char *command =
        sl_strf("export XDG_CONFIG_HOME=%s F=%s/sayline/soundcheck.json; %s", folder, folder, line);
    struct sl_ran ran = sl_run(command);
    free(command);
    return ran;
}

static void a_broken_file_stops_all_and_stays_as_it_is(void **state)
{
    static const char *const options[] = {"", "--list", "--forget", "--input 0"};
    (void)state;
    for (size_t i = 0; i < sizeof options / sizeof *options; i++) {
        char *folder = sl_scratch_make();
        char *line =
            sl_strf("mkdir -p $XDG_CONFIG_HOME/sayline; printf '{\"sayl' >$F; "
                    "sayline soundcheck %s; code=$?; cat $F; rm -r $XDG_CONFIG_HOME/sayline; "
                    "exit $code",
                    options[i]);
        struct sl_ran ran = run_in(folder, line);
        assert_int_equal(ran.code, 1);
        assert_string_equal(ran.out, "{\"sayl");
        assert_non_null(strstr(ran.err, "soundcheck.json:1:"));
        assert_non_null(strstr(ran.err, "move it away"));
        sl_ran_clear(&ran);
        free(line);
        sl_scratch_remove(folder);
    }
}

static void forgetting_leaves_nothing_of_the_voice(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran = run_in(
        folder, "mkdir -p $XDG_CONFIG_HOME/sayline; printf '{\"sayline_soundcheck\": 1, "
                "\"input\": \"Desk\", \"voice\": {\"cepstral_mean\": "
                "[1,2,3,4,5,6,7,8,9,10,11,12,13]}}' >$F; "
                "sayline soundcheck --forget; code=$?; cat $F; rm -r $XDG_CONFIG_HOME/sayline; "
                "exit $code");
    assert_int_equal(ran.code, 0);
    json_t *kept = json_loads(ran.out, 0, NULL);
    assert_non_null(kept);
    assert_true(json_is_null(json_object_get(kept, "input")));
    assert_true(json_is_null(json_object_get(kept, "voice")));
    json_decref(kept);
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

static void a_recording_is_measured_and_nothing_kept(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran =
        run_in(folder,
               "sayline soundcheck --json --mic audio/demo/clean-t-left-open.flac && test ! -e $F");
    assert_int_equal(ran.code, 0);
    json_t *found = json_loads(ran.out, 0, NULL);
    assert_non_null(found);
    double speech_db = json_number_value(json_object_get(found, "speech_db"));
    assert_true(speech_db > -40 && speech_db < -10);
    assert_true(json_number_value(json_object_get(found, "noise_db")) < -60);
    assert_true(json_is_null(json_object_get(found, "echo")));
    assert_true(json_is_null(json_object_get(found, "kept_in")));
    assert_int_equal(json_array_size(json_object_get(found, "findings")), 0);
    const json_t *heard = json_object_get(found, "heard");
    assert_true(json_array_size(heard) >= 2);
    assert_string_equal(json_string_value(json_array_get(heard, 0)),
                        "centre mirror and left mirror");
    json_decref(found);
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

static void exit_codes_tell_what_is_wrong(void **state)
{
    static const struct row {
        const char *name, *line;
        int code;
        const char *err; /* part of it */
    } rows[] = {
        {"no such recording", "sayline soundcheck --mic /nowhere.wav", 2, "/nowhere.wav"},
        {"no recording", "sayline soundcheck --mic README.md", 1, "README.md"},
        {"a device and a recording",
         "sayline soundcheck --input 0 --mic audio/demo/clean-t-left-open.flac", 2, "--mic"},
        {"no home", "env -u HOME -u XDG_CONFIG_HOME sayline soundcheck --forget", 1,
         "XDG_CONFIG_HOME"},
        {"a word too much", "sayline soundcheck now", 2, "now"},
    };
    (void)state;
    char *folder = sl_scratch_make();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_ran ran = run_in(folder, rows[i].line);
        if (ran.code != rows[i].code || strstr(ran.err, rows[i].err) == NULL) {
            fail_msg("%s: %d, %s%s", rows[i].name, ran.code, ran.out, ran.err);
        }
        sl_ran_clear(&ran);
    }
    sl_scratch_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_broken_file_stops_all_and_stays_as_it_is),
        cmocka_unit_test(forgetting_leaves_nothing_of_the_voice),
        cmocka_unit_test(a_recording_is_measured_and_nothing_kept),
        cmocka_unit_test(exit_codes_tell_what_is_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
