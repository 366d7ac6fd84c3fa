#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/sound_findings.h"

static struct sl_sound_figures good(void)
{
    return (struct sl_sound_figures){
        .noise_db = -62,
        .noise_swing = 3,
        .levels = {.speech_db = -25, .noise_db = -62, .snr_db = 37},
        .speech_s = 5,
        .n_phrases = 4,
        .played = true,
        .echo_heard = true,
        .leak_db = -30,
        .round_trip_s = 0.15,
        .stamps_known = true,
        .stamps_s = 0.145,
        .cancelled = true,
    };
}

static void nothing_is_said_about_good_sound(void **state)
{
    (void)state;
    struct sl_sound_figures figures = good();
    assert_int_equal(sl_sound_findings(&figures), 0);
    assert_true(sl_sound_voice_is_good(0));
}

/* Sets one thing wrong. */
typedef void spoil(struct sl_sound_figures *figures);

static void empty(struct sl_sound_figures *f)
{
    f->empty = true;
}
static void silent(struct sl_sound_figures *f)
{
    f->levels.notices = SL_NOTICE_SILENT;
}
static void quiet(struct sl_sound_figures *f)
{
    f->levels.notices = SL_NOTICE_QUIET;
}
static void clipped(struct sl_sound_figures *f)
{
    f->levels.notices = SL_NOTICE_CLIPPED;
}
static void noisy(struct sl_sound_figures *f)
{
    f->levels.notices = SL_NOTICE_NOISY;
}
static void restless(struct sl_sound_figures *f)
{
    f->noise_swing = 12.1;
}
static void still_restful(struct sl_sound_figures *f)
{
    f->noise_swing = 11.9;
}
static void brief(struct sl_sound_figures *f)
{
    f->speech_s = 2.9;
}
static void no_echo(struct sl_sound_figures *f)
{
    f->echo_heard = false;
}
static void disturbed(struct sl_sound_figures *f)
{
    f->echo_heard = false, f->disturbed = true;
}
static void loud_echo(struct sl_sound_figures *f)
{
    f->leak_db = -9.9;
}
static void soft_echo(struct sl_sound_figures *f)
{
    f->leak_db = -10.1;
}
static void staying(struct sl_sound_figures *f)
{
    f->cancelled = false;
}
static void late(struct sl_sound_figures *f)
{
    f->round_trip_s = f->stamps_s = 0.51;
}
static void off(struct sl_sound_figures *f)
{
    f->stamps_s = 0.129;
}
static void off_the_other_way(struct sl_sound_figures *f)
{
    f->stamps_s = 0.171;
}
static void no_stamps(struct sl_sound_figures *f)
{
    f->stamps_known = false, f->stamps_s = 0;
}
static void lost(struct sl_sound_figures *f)
{
    f->lost_s = 0.011;
}
static void xrun(struct sl_sound_figures *f)
{
    f->xruns = 1;
}
static void not_played(struct sl_sound_figures *f)
{
    f->played = f->echo_heard = false;
}

static void each_thing_wrong_is_found(void **state)
{
    static const struct row {
        const char *name;
        spoil *spoil;
        unsigned findings;
        bool voice_good;
    } rows[] = {
        {"empty", empty, SL_SOUND_EMPTY, false},
        {"silent", silent, SL_SOUND_SILENT, false},
        {"quiet", quiet, SL_SOUND_QUIET, false},
        {"clipped", clipped, SL_SOUND_CLIPPED, false},
        {"noisy", noisy, SL_SOUND_NOISY, false},
        {"restless", restless, SL_SOUND_RESTLESS, true},
        {"still restful", still_restful, 0, true},
        {"too little", brief, SL_SOUND_SHORT, false},
        {"no echo", no_echo, SL_SOUND_NO_ECHO, true},
        {"disturbed", disturbed, SL_SOUND_DISTURBED, true},
        {"loud echo", loud_echo, SL_SOUND_LOUD_ECHO, true},
        {"echo at arm's length", soft_echo, 0, true},
        {"echo that stays", staying, SL_SOUND_STAYING_ECHO, true},
        {"late", late, SL_SOUND_LATE, true},
        {"stamps 21 ms early", off, SL_SOUND_STAMPS, true},
        {"stamps 21 ms late", off_the_other_way, SL_SOUND_STAMPS, true},
        {"no stamps", no_stamps, 0, true},
        {"lost", lost, SL_SOUND_LOST, true},
        {"xrun", xrun, SL_SOUND_LOST, true},
        {"not played", not_played, 0, true},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_sound_figures figures = good();
        rows[i].spoil(&figures);
        unsigned found = sl_sound_findings(&figures);
        if (found != rows[i].findings || sl_sound_voice_is_good(found) != rows[i].voice_good) {
            fail_msg("%s: %#x, not %#x", rows[i].name, found, rows[i].findings);
        }
    }
}

static void two_things_wrong_are_both_found(void **state)
{
    (void)state;
    struct sl_sound_figures figures = good();
    figures.levels.notices = SL_NOTICE_CLIPPED | SL_NOTICE_NOISY;
    loud_echo(&figures);
    assert_int_equal(sl_sound_findings(&figures),
                     SL_SOUND_CLIPPED | SL_SOUND_NOISY | SL_SOUND_LOUD_ECHO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_said_about_good_sound),
        cmocka_unit_test(each_thing_wrong_is_found),
        cmocka_unit_test(two_things_wrong_are_both_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
