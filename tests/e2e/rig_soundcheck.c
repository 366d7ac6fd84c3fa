/*
 * `sayline soundcheck` with real devices on a private sound server; run by rig.sh with the name of
 * one test.
 */
#include "support/program.h"

#include "core/str.h"

#include <jansson.h>
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Runs the check, the recorded learner speaking when asked to; the file it keeps is read. */
static struct sl_ran check(const char *before, const char *arguments, json_t **kept)
{
    char *folder = sl_scratch_make();
    char *line =
        sl_strf("export XDG_CONFIG_HOME=%s; %s; { sayline soundcheck %s; echo \"code $?\"; } | "
                "while IFS= read -r said; do case $said in \"Now say\"*) "
                "(sleep 0.5; paplay -d mic audio/demo/corrected-gear.flac) & ;; esac; "
                "echo \"$said\"; done; wait; cat %s/sayline/soundcheck.json >&2",
                folder, before, arguments, folder);
    struct sl_ran ran = sl_run(line);
    *kept = json_loads(ran.err, 0, NULL);
    print_message("%s%s", ran.out, ran.err);
    free(line);
    sl_scratch_remove(folder);
    return ran;
}

static double figure(const json_t *kept, const char *key)
{
    const json_t *value = json_object_get(kept, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

/* A speaker that leaks into the microphone by so much, 60 ms late. */
#define LEAK(db)                                                                                   \
    "n=$(pactl load-module module-loopback source=speaker.monitor sink=mic latency_msec=60 "       \
    "adjust_time=0); sleep 0.5; pactl set-sink-input-volume "                                      \
    "$(pactl list short sink-inputs | head -1 | cut -f1) " db "dB"

static void a_leak_of_20_db_is_measured_and_the_voice_kept(void **state)
{
    (void)state;
    json_t *kept = NULL;
    struct sl_ran ran = check(LEAK("-20"), "", &kept);
    assert_non_null(strstr(ran.out, "code 0"));
    assert_non_null(kept);
    assert_float_equal(figure(kept, "leak_db"), -20, 1.5);
    double round_trip_s = figure(kept, "round_trip_s");
    assert_true(round_trip_s > 0.06 && round_trip_s < 0.5);
    assert_true(figure(kept, "speech_db") > -45);
    const json_t *voice = json_object_get(kept, "voice");
    assert_int_equal(json_array_size(json_object_get(voice, "cepstral_mean")), 13);
    assert_true(json_is_string(json_object_get(voice, "input")));
    assert_true(json_is_null(json_object_get(kept, "input"))); /* none was chosen */
    json_decref(kept);
    sl_ran_clear(&ran);
}

static void a_headset_has_no_echo_and_a_chosen_device_is_remembered(void **state)
{
    (void)state;
    json_t *kept = NULL;
    struct sl_ran ran = check("true", "--input 0 --output 0", &kept);
    assert_non_null(strstr(ran.out, "code 0"));
    assert_non_null(strstr(ran.out, "the cue did not come back"));
    assert_non_null(kept);
    assert_true(json_is_null(json_object_get(kept, "leak_db")));
    const char *input = json_string_value(json_object_get(kept, "input"));
    assert_non_null(input);
    assert_true(strcmp(input, "0") != 0); /* by name: numbers change */
    json_decref(kept);
    sl_ran_clear(&ran);
}

static void devices_are_listed(void **state)
{
    (void)state;
    struct sl_ran ran = sl_run("sayline soundcheck --list");
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.out, "microphone, the system's"));
    assert_non_null(strstr(ran.out, "speaker, the system's"));
    assert_string_equal(ran.err, "");
    sl_ran_clear(&ran);
    ran = sl_run("sayline soundcheck --list --json");
    json_t *list = json_loads(ran.out, 0, NULL);
    assert_true(json_array_size(json_object_get(list, "devices")) > 0);
    json_decref(list);
    sl_ran_clear(&ran);
}

static void a_device_that_is_not_there_is_wrong_use(void **state)
{
    (void)state;
    struct sl_ran ran = sl_run("XDG_CONFIG_HOME=/nowhere sayline soundcheck --input zither");
    assert_int_equal(ran.code, 2);
    assert_non_null(strstr(ran.err, "zither"));
    sl_ran_clear(&ran);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_leak_of_20_db_is_measured_and_the_voice_kept),
        cmocka_unit_test(a_headset_has_no_echo_and_a_chosen_device_is_remembered),
        cmocka_unit_test(devices_are_listed),
        cmocka_unit_test(a_device_that_is_not_there_is_wrong_use),
    };
    if (argc > 1) {
        cmocka_set_test_filter(argv[1]);
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
