/* An instructor settles what is unclear: kept beside the recording, applied, shown, refused. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <math.h>
#include <sndfile.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define CLEAN SL_SOURCE_DIR "/audio/demo/clean-t-left-open.flac"
#define RATE_HZ 16000

struct scene {
    char *folder;
    char *recording;
};

/* The clean demo with broken samples in place of the signal, which was said from 8.6 s to 9.9 s:
 * sound that may hide a step makes it unclear. */
static void write_damaged(const char *path)
{
    SF_INFO info = {0};
    SNDFILE *file = sf_open(CLEAN, SFM_READ, &info);
    assert_non_null(file);
    assert_int_equal(info.samplerate, RATE_HZ);
    size_t n = (size_t)info.frames;
    float *samples = malloc(n * sizeof *samples);
    assert_int_equal(sf_readf_float(file, samples, info.frames), info.frames);
    sf_close(file);
    for (size_t i = 0; i < n; i++) {
        bool signal = i > (size_t)(8.2 * RATE_HZ) && i < (size_t)(10.6 * RATE_HZ);
        samples[i] = signal ? NAN : samples[i];
    }
    info =
        (SF_INFO){.samplerate = RATE_HZ, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
    file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    assert_int_equal(sf_writef_float(file, samples, (sf_count_t)n), n);
    assert_int_equal(sf_close(file), 0);
    free(samples);
}

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    scene->folder = sl_scratch_make();
    scene->recording = sl_strf("%s/damaged.wav", scene->folder);
    write_damaged(scene->recording);
    *state = scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    sl_scratch_remove(scene->folder);
    free(scene->recording);
    free(scene);
    return 0;
}

/* `before` sayline mark OPTIONS RECORDING; the output belongs to the caller. */
static struct sl_ran mark(const struct scene *scene, const char *before, const char *options,
                          int code)
{
    char *command =
        sl_strf("%ssayline mark -j t-left-open %s '%s'", before, options, scene->recording);
    struct sl_ran ran = sl_run(command);
    if (ran.code != code) {
        fail_msg("%s: exit code %d\n%s%s", command, ran.code, ran.out, ran.err);
    }
    free(command);
    return ran;
}

static void expect(const struct scene *scene, const char *before, const char *options, int code,
                   const char *out, const char *err)
{
    struct sl_ran ran = mark(scene, before, options, code);
    if (strstr(ran.out, out) == NULL || strstr(ran.err, err) == NULL) {
        fail_msg("%s%s: not \"%s\" and \"%s\" in\n%s%s", before, options, out, err, ran.out,
                 ran.err);
    }
    sl_ran_clear(&ran);
}

static void a_decision_is_kept_and_applied(void **state)
{
    const struct scene *scene = *state;
    expect(scene, "", "", 0, "No faults.\n1 unclear, which is no fault:\n  1. Signal, unclear", "");
    expect(scene, "", "--settle-as signal=right@8.6 --by 'A. Tutor'", 0,
           "No faults.\nSettled:", "");
    expect(scene, "", "", 0, "Signal right; settled by the instructor", "");
    expect(scene, "", "--no-settled", 0, "1 unclear", "");
    struct sl_ran ran = mark(scene, "", "--json", 0);
    json_t *made = json_loads(ran.out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(made);
    const json_t *signal = json_array_get(json_object_get(made, "phases"), 1);
    assert_string_equal(json_string_value(json_object_get(signal, "settled")), "right");
    assert_true(json_is_true(json_object_get(signal, "heard")));
    assert_int_equal(json_array_size(json_object_get(made, "unclear")), 0);
    assert_string_equal(json_string_value(json_object_get(json_object_get(made, "settled"), "by")),
                        "A. Tutor");
    json_decref(made);
    sl_ran_clear(&ran);
    ran = mark(scene, "", "--unsettle", 0);
    sl_ran_clear(&ran);
    expect(scene, "", "", 0, "1 unclear", "");
    expect(scene, "", "--unsettle", 1, "", "nothing was settled");
}

static void decisions_are_asked_for(void **state)
{
    const struct scene *scene = *state;
    /* A slip, then missed. */
    expect(scene, "printf 'x\\nm\\n' | ", "--settle", 0, "Signal, missed", "Please answer r, w, m");
    expect(scene, "", "", 0, "Signal missed; settled by the instructor", "");
    /* Wrong wants its moment; one that is no number is asked for again. */
    expect(scene, "printf 'w\\nlater\\n8.6\\n' | ", "--settle", 0, "Signal, wrong setting",
           "When was it said");
    /* Nothing answered: what was settled before stays. */
    expect(scene, "", "--settle </dev/null", 0, "Signal wrong; settled by the instructor", "> ");
    expect(scene, "printf 'l\\n' | ", "--settle", 0, "Signal wrong; settled", "");
}

static void what_cannot_be_settled_is_refused(void **state)
{
    const struct scene *scene = *state;
    expect(scene, "", "--settle-as signal=right", 1, "", "say when it was said");
    expect(scene, "", "--settle-as gear=missed", 1, "", "settle only what the mark calls unclear");
    expect(scene, "", "--settle-as signal=good", 2, "", "PHASE=right");
    expect(scene, "", "--settle-as signal=missed@3", 2, "", "PHASE=right");
    expect(scene, "", "--settle-as horn=right", 2, "", "PHASE=right");
    expect(scene, "", "--settle --unsettle", 2, "", "do not go together");
    expect(scene, "", "--settle x.wav", 2, "", "one recording");
    expect(scene, "", "--by me", 2, "", "--settle");
    expect(scene, "", "", 0, "1 unclear", ""); /* nothing was kept */
}

static void a_changed_recording_or_another_junction_is_refused(void **state)
{
    const struct scene *scene = *state;
    expect(scene, "", "--settle-as signal=missed", 0, "Signal, missed", "");
    char *other = sl_strf("sayline mark -j t-right-open '%s'", scene->recording);
    struct sl_ran ran = sl_run(other);
    assert_int_equal(ran.code, 1);
    assert_non_null(strstr(ran.err, "another junction"));
    sl_ran_clear(&ran);
    free(other);
    char *change = sl_strf("printf x >>'%s'; ", scene->recording);
    expect(scene, change, "", 1, "", "it was changed since");
    expect(scene, "", "--no-settled", 0, "1 unclear", "");
    free(change);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_decision_is_kept_and_applied, set_up, tear_down),
        cmocka_unit_test_setup_teardown(decisions_are_asked_for, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_cannot_be_settled_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_changed_recording_or_another_junction_is_refused, set_up,
                                        tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
