/*
 * Real devices of the sound library on a private sound server; run by tests/e2e/rig.sh with the
 * name of one test. What is measured is printed.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "sound/sound_writer.h"

#include "sound/rig_run.h"
#include "support/sweep.h"

#include <stdio.h>

static void devices_are_listed_with_the_defaults(void **state)
{
    (void)state;
    struct sl_device_list list = {0};
    assert_int_equal(sl_device_list_get(&list, NULL), SL_OK);
    int defaults = 0;
    for (size_t i = 0; i < list.n; i++) {
        const struct sl_device *device = &list.items[i];
        print_message("%d %s (%s) in %d out %d %g Hz%s%s\n", device->index, device->name,
                      device->host, device->in_channels, device->out_channels, device->rate_hz,
                      device->default_input ? " input" : "",
                      device->default_output ? " output" : "");
        defaults += device->default_input && device->in_channels > 0;
        defaults += device->default_output && device->out_channels > 0;
    }
    assert_int_equal(defaults, 2);
    sl_device_list_clear(&list);
}

/* Sweeps at 1 and 2 s of a file of 3 s, to be played into the microphone. */
static char *write_near(void)
{
    int16_t *near = calloc((size_t)3 * RIG_RATE, sizeof *near);
    char *path = sl_strf("%s/near.wav", getenv("RIG"));
    struct sl_sound_writer *writer = NULL;
    assert_non_null(near);
    sweep_add(near + RIG_RATE, 8000);
    sweep_add(near + (size_t)2 * RIG_RATE, 8000);
    assert_int_equal(sl_sound_create(path, RIG_RATE, &writer, NULL), SL_OK);
    assert_int_equal(sl_sound_write(writer, near, (size_t)3 * RIG_RATE, NULL), SL_OK);
    assert_int_equal(sl_sound_finish(writer, NULL), SL_OK);
    free(near);
    return path;
}

#define N_SWEEPS 6

/* Plays sweeps at 1 to 6 s while the speaker is recorded and a file is played to the microphone. */
static struct sl_endpoint_facts play_sweeps(struct rig_run *run, const char *near)
{
    const char *rig = getenv("RIG");
    rig_open(run, &(struct sl_device_choice){0}, N_SWEEPS + 2);
    for (size_t s = 1; s <= N_SWEEPS; s++) {
        sweep_add(run->play + s * RIG_RATE, 8000);
    }
    rig_shell("parec -d speaker.monitor --rate=16000 --channels=1 --format=s16le "
              "--latency-msec=50 >%s/out.raw & echo $! >%s/parec",
              rig, rig);
    sl_clock_sleep_s(0.5);
    rig_start(run);
    rig_run_until(run, RIG_RATE);
    rig_shell("paplay -d mic %s &", near);
    struct sl_endpoint_facts facts = rig_run_until(run, run->n_play);
    sl_endpoint_stop(&run->endpoint);
    sl_clock_sleep_s(0.3);
    rig_shell("kill $(cat %s/parec)", rig);
    struct sl_device_report report = sl_device_describe(&run->endpoint);
    print_message("rate %g, latency %.3f and %.3f s, lost %u, xruns %u, offset %.1f ms\n",
                  report.rate_hz, report.in_latency_s, report.out_latency_s, (unsigned)facts.lost,
                  facts.xruns, facts.offset_s * 1e3);
    return facts;
}

/* The sweeps in what was recorded of the speaker are a second apart. */
static void check_recorded(void)
{
    size_t room = (size_t)20 * RIG_RATE;
    int16_t *out = calloc(room, sizeof *out);
    char *recorded = sl_strf("%s/out.raw", getenv("RIG"));
    FILE *file = fopen(recorded, "rb");
    assert_true(out != NULL && file != NULL);
    size_t n = fread(out, sizeof *out, room, file);
    (void)fclose(file);
    long last = -1;
    for (size_t s = 1; s <= N_SWEEPS; s++) {
        size_t from = last < 0 ? 0 : (size_t)last + RIG_RATE / 2;
        long at = sweep_find(out, n, from, from + (size_t)2 * RIG_RATE);
        assert_true(at >= 0);
        if (last >= 0) {
            print_message("recorded %ld frames after the one before\n", at - last);
            assert_true(labs(at - last - RIG_RATE) <= RIG_RATE / 50);
        }
        last = at;
    }
    free(out);
    free(recorded);
}

/* A system whose only device has no microphone. */
static void the_speaker_alone_needs_no_microphone(void **state)
{
    (void)state;
    const char *rig = getenv("RIG");
    rig_shell("printf 'pcm.!default { type asym playback.pcm { type pulse server \"%%s\" } }\\n' "
              "\"unix:%s/socket\" >%s/speaker.conf",
              rig, rig);
    char *path = sl_strf("%s/speaker.conf", rig);
    assert_int_equal(setenv("ALSA_CONFIG_PATH", path, 1), 0);
    struct sl_endpoint both = {0};
    struct sl_error error = {0};
    assert_int_equal(sl_device_open(&(struct sl_device_choice){0}, &both, &error), SL_DEVICE);
    assert_string_equal(error.what, "no microphone was found");
    sl_error_clear(&error);
    struct rig_run run;
    rig_open(&run, &(struct sl_device_choice){.speaker_only = true}, 2);
    sweep_add(run.play + RIG_RATE, 8000);
    rig_start(&run);
    struct sl_endpoint_facts facts = rig_run_until(&run, run.n_play);
    assert_true(facts.played >= run.n_play);
    assert_false(facts.offset_known);
    assert_null(sl_device_describe(&run.endpoint).input);
    for (size_t i = 0; i < run.n_heard; i++) {
        assert_int_equal(run.heard[i], 0);
    }
    rig_close(&run);
    free(path);
}

/* An interruption of the device moves what follows: then once more. */
static void speech_comes_in_and_a_scheduled_tone_goes_out(void **state)
{
    (void)state;
    struct rig_run run;
    char *near = write_near();
    struct sl_endpoint_facts facts = play_sweeps(&run, near);
    if (facts.xruns > 0) {
        rig_close(&run);
        facts = play_sweeps(&run, near);
    }
    assert_int_equal(facts.lost, 0);
    long first = sweep_find(run.heard, run.n_heard, RIG_RATE, (size_t)5 * RIG_RATE);
    assert_true(first >= 0);
    long second = sweep_find(run.heard, run.n_heard, (size_t)first + RIG_RATE / 2, run.n_heard);
    print_message("heard %ld frames apart\n", second - first);
    assert_true(labs(second - first - RIG_RATE) <= RIG_RATE / 1000);
    check_recorded();
    free(near);
    rig_close(&run);
}

static struct sl_endpoint_facts hear_itself(struct rig_run *run)
{
    rig_open(run, &(struct sl_device_choice){0}, 6);
    for (size_t s = 1; s < 6; s++) {
        sweep_add(run->play + s * RIG_RATE, 8000);
    }
    rig_start(run);
    return rig_run_until(run, run->n_play);
}

/* The speaker itself is the microphone: the measured way against the device's stamps. */
static void the_offset_by_stamps_is_near_the_measured_round_trip(void **state)
{
    (void)state;
    rig_shell("pactl set-default-source speaker.monitor");
    struct rig_run run;
    struct sl_endpoint_facts facts = hear_itself(&run);
    if (facts.xruns > 0) {
        rig_close(&run);
        facts = hear_itself(&run);
    }
    assert_true(facts.offset_known);
    for (size_t s = 1; s < 6; s++) {
        long at = sweep_find(run.heard, run.n_heard, s * RIG_RATE, s * RIG_RATE + RIG_RATE / 2);
        double trip_s = (double)(at - (long)(s * RIG_RATE)) / RIG_RATE;
        print_message("round trip %.2f ms, by stamps %.2f ms\n", trip_s * 1e3,
                      facts.offset_s * 1e3);
        assert_true(at >= 0);
        assert_true(fabs(trip_s - facts.offset_s) < 0.02);
    }
    rig_close(&run);
}

static double seconds_until(struct rig_run *run, enum sl_endpoint_state wanted)
{
    double from_s = sl_clock_s();
    while (rig_turn(run).state != wanted && sl_clock_s() < from_s + 5) {
    }
    assert_int_equal(sl_endpoint_facts(&run->endpoint).state, wanted);
    return sl_clock_s() - from_s;
}

static void a_killed_server_is_a_device_gone(void **state)
{
    (void)state;
    struct rig_run run;
    rig_open(&run, &(struct sl_device_choice){0}, 10);
    rig_start(&run);
    rig_run_until(&run, RIG_RATE);
    rig_shell("kill -KILL $RIG_SERVER");
    double took_s = seconds_until(&run, SL_ENDPOINT_GONE);
    print_message("gone after %.3f s\n", took_s);
    assert_true(took_s < 1);
    sl_endpoint_stop(&run.endpoint);
    assert_int_equal(sl_endpoint_facts(&run.endpoint).state, SL_ENDPOINT_STOPPED);
    rig_close(&run);
}

static void a_suspended_microphone_is_stalled_until_it_comes_back(void **state)
{
    (void)state;
    struct rig_run run;
    rig_open(&run, &(struct sl_device_choice){0}, 20);
    rig_start(&run);
    rig_run_until(&run, RIG_RATE);
    rig_shell("pactl suspend-sink mic 1");
    double took_s = seconds_until(&run, SL_ENDPOINT_STALLED);
    print_message("stalled after %.3f s\n", took_s);
    assert_true(took_s > 0.9 && took_s < 3);
    rig_shell("pactl suspend-sink mic 0");
    took_s = seconds_until(&run, SL_ENDPOINT_RUNNING);
    print_message("running again after %.3f s\n", took_s);
    rig_close(&run);
}

/* Outside the rig, with a configuration of the sound system whose only device is not there. */
static void no_device_is_said_so(void **state)
{
    (void)state;
    struct sl_device_list list = {0};
    assert_int_equal(sl_device_list_get(&list, NULL), SL_OK);
    if (list.n > 0) {
        print_message("this computer has a sound card: nothing to test\n");
        sl_device_list_clear(&list);
        skip();
    }
    struct sl_endpoint endpoint = {0};
    struct sl_error error = {0};
    assert_int_equal(sl_device_open(&(struct sl_device_choice){0}, &endpoint, &error), SL_DEVICE);
    assert_non_null(strstr(error.mend, "--mic"));
    sl_error_clear(&error);
}

static void no_sound_system_is_said_so(void **state)
{
    (void)state;
    struct sl_device_list list = {0};
    struct sl_endpoint endpoint = {0};
    assert_int_equal(sl_device_list_get(&list, NULL), SL_DEVICE);
    assert_int_equal(sl_device_open(&(struct sl_device_choice){0}, &endpoint, NULL), SL_DEVICE);
}

static void a_device_of_no_name_or_a_latency_of_no_use_is_refused(void **state)
{
    (void)state;
    static const struct {
        struct sl_device_choice choice;
        enum sl_status status;
    } rows[] = {
        {{.input = "no such microphone"}, SL_NOT_FOUND},
        {{.output = "99"}, SL_NOT_FOUND},
        {{.output = ""}, SL_NOT_FOUND},
        {{.latency_s = 0.02}, SL_INVALID},
        {{.latency_s = 2}, SL_INVALID},
        {{.input = "DEFAULT", .output = "0"}, SL_OK},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_endpoint endpoint = {0};
        struct sl_error error = {0};
        assert_int_equal(sl_device_open(&rows[i].choice, &endpoint, &error), rows[i].status);
        sl_error_clear(&error);
        sl_endpoint_close(&endpoint);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(devices_are_listed_with_the_defaults),
    cmocka_unit_test(the_speaker_alone_needs_no_microphone),
    cmocka_unit_test(speech_comes_in_and_a_scheduled_tone_goes_out),
    cmocka_unit_test(the_offset_by_stamps_is_near_the_measured_round_trip),
    cmocka_unit_test(a_killed_server_is_a_device_gone),
    cmocka_unit_test(a_suspended_microphone_is_stalled_until_it_comes_back),
    cmocka_unit_test(no_device_is_said_so),
    cmocka_unit_test(no_sound_system_is_said_so),
    cmocka_unit_test(a_device_of_no_name_or_a_latency_of_no_use_is_refused),
};

int main(int argc, char **argv)
{
    if (argc == 2) {
        cmocka_set_test_filter(argv[1]);
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
