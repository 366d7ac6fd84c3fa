/*
 * The canceller on a real device: the speaker leaks into the microphone 20 dB down, 60 ms late, on
 * the private sound server of tests/e2e/rig.sh.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "sound/echo_scene.h"
#include "sound/rig_run.h"

#define SECONDS 10

static void leak(void)
{
    rig_shell("pactl load-module module-loopback source=speaker.monitor sink=mic latency_msec=60 "
              "adjust_time=0 >/dev/null");
    rig_shell("pactl set-sink-input-volume $(pactl list short sink-inputs | head -1 | cut -f1) "
              "-20dB");
}

struct live {
    double erle_db[SECONDS];
    struct sl_echo_report report;
    double left_rms; /* after cancelling, over the last 2 s */
    unsigned xruns;
};

static struct live run_live(const int16_t *voice)
{
    struct live live = {0};
    struct rig_run run;
    struct sl_echo *echo = NULL;
    rig_open(&run, &(struct sl_device_choice){0}, SECONDS);
    memcpy(run.play, voice, run.n_play * sizeof *voice);
    assert_int_equal(sl_echo_new(0, &echo, NULL), SL_OK);
    rig_start(&run);
    double power = 0;
    size_t n = 0;
    for (size_t at = 0; at + SL_ECHO_BLOCK <= run.n_play; at += SL_ECHO_BLOCK) {
        struct sl_endpoint_facts facts = rig_run_until(&run, at + SL_ECHO_BLOCK);
        while (run.n_heard < at + SL_ECHO_BLOCK) {
            facts = rig_turn(&run);
        }
        sl_echo_offset(echo, facts.offset_s);
        int16_t out[SL_ECHO_BLOCK];
        sl_echo_process(echo, run.heard + at, run.play + at, out);
        live.report = sl_echo_report(echo);
        live.erle_db[at / RIG_RATE] = live.report.erle_db;
        live.xruns = facts.xruns;
        if (at >= (size_t)(SECONDS - 2) * RIG_RATE) {
            power += scene_power(out, SL_ECHO_BLOCK);
            n++;
        }
    }
    live.left_rms = sqrt(power / (double)n);
    sl_echo_free(echo);
    rig_close(&run);
    for (size_t s = 0; s < SECONDS; s++) {
        print_message("%.0f ", live.erle_db[s]);
    }
    print_message("dB; delay %.1f ms, leak %.1f dB, %s, %u blocks muted, left %.1f rms, xruns %u\n",
                  live.report.delay_s * 1e3, live.report.leak_db,
                  sl_echo_verdict_name(live.report.verdict), (unsigned)live.report.n_muted,
                  live.left_rms, live.xruns);
    return live;
}

/* An interruption of the device moves the echo: then once more. */
static void a_live_echo_is_taken_out_within_six_seconds(void **state)
{
    (void)state;
    int16_t *voice = scene_voice("awb", SCENE_CUE, (size_t)SECONDS * RIG_RATE);
    leak();
    struct live live = run_live(voice);
    if (live.xruns > 0) {
        live = run_live(voice);
    }
    assert_true(live.report.aligned);
    assert_int_equal(live.report.verdict, SL_ECHO_WORKING);
    assert_true(live.erle_db[6] >= 15);
    assert_true(live.left_rms < 60);
    free(voice);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_live_echo_is_taken_out_within_six_seconds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
