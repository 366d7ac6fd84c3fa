/* The built program rehearsing with a recording in place of the microphone, in real time: what is
 * left when it is ended in every way. */
#include "files/run_file.h"
#include "sound/sound_reader.h"
#include "support/program.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "core/str.h"

#define RATE 16000

/* A folder of data for a session of its own; the only recording in it. */
static char *recording_in(const char *data)
{
    char *command = sl_strf("ls '%s'/sayline/recordings/*.flac", data);
    struct sl_ran ran = sl_run(command);
    assert_int_equal(ran.code, 0);
    char *path = sl_strf("%.*s", (int)strcspn(ran.out, "\n"), ran.out);
    sl_ran_clear(&ran);
    free(command);
    return path;
}

static double recorded_s(const char *path)
{
    struct sl_sound_reader *reader = NULL;
    int16_t samples[4096];
    size_t n = 0;
    size_t got = 1;
    assert_int_equal(sl_sound_open(path, RATE, &reader, NULL), SL_OK);
    while (got > 0) {
        assert_int_equal(sl_sound_read(reader, samples, 4096, &got, NULL), SL_OK);
        n += got;
    }
    sl_sound_close(reader);
    return (double)n / RATE;
}

/* Starts a run, waits for a line of it, ends it with a signal; then the reference decoder of FLAC
 * has a look at what is left. */
static struct sl_ran run_and_signal(const char *data, const char *signal, const char *line)
{
    char *command =
        sl_strf("export XDG_DATA_HOME='%s'\n"
                "sayline rehearse --plain --prompting none --mic audio/demo/clean-t-left-open.flac "
                "t-left-open >'%s/out' 2>&1 &\n"
                "tries=0; until grep -q '%s' '%s/out' || [ $tries -gt 600 ]; do sleep 0.1; "
                "tries=$((tries + 1)); done\n"
                "kill -%s $!; wait $!; code=$?\n"
                "flac --totally-silent --test '%s'/sayline/recordings/*.flac || exit 90\n"
                "cat '%s/out'; exit $code",
                data, data, line, data, signal, data, data);
    struct sl_ran ran = sl_run(command);
    free(command);
    return ran;
}

static void a_killed_run_leaves_all_but_the_last_second(void **state)
{
    (void)state;
    char *data = sl_scratch_make();
    struct sl_ran ran = run_and_signal(data, "KILL", "Speed: now");
    assert_int_equal(ran.code, 137);
    assert_non_null(strstr(ran.out, "Speed: now"));
    char *path = recording_in(data);
    char *run_path = sl_run_file_path(path);
    struct sl_run_file run = {0};
    assert_int_equal(sl_run_file_load(run_path, &run, NULL), SL_OK);
    assert_string_equal(run.ended, "running");
    assert_true(run.from_known);
    double speed_opens_s = 9.5; /* of this junction's plan, rounded down */
    assert_true(recorded_s(path) >= run.from_s + speed_opens_s - 1.0);
    sl_run_file_clear(&run);
    char *command = sl_strf("sayline mark --quiet '%s'", path);
    struct sl_ran marked = sl_run(command);
    assert_int_equal(marked.code, 0);
    assert_non_null(strstr(marked.out, "missed")); /* the rest of the routine */
    sl_ran_clear(&marked);
    free(command);
    free(run_path);
    free(path);
    sl_ran_clear(&ran);
    sl_scratch_remove(data);
}

static void signals_end_a_run_in_good_order(void **state)
{
    (void)state;
    static const struct {
        const char *signal;
        int code;
    } rows[] = {{"INT", 130}, {"TERM", 143}, {"HUP", 129}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *data = sl_scratch_make();
        struct sl_ran ran = run_and_signal(data, rows[i].signal, "Announcement");
        if (ran.code != rows[i].code) {
            fail_msg("%s: exit code %d\n%s%s", rows[i].signal, ran.code, ran.out, ran.err);
        }
        assert_non_null(strstr(ran.out, "recorded and are kept"));
        sl_ran_clear(&ran);
        sl_scratch_remove(data);
    }
}

/* On a terminal of its own (script, of Debian's essential bsdutils). */
static void the_terminal_is_as_before_after_every_way_out(void **state)
{
    (void)state;
    static const struct {
        const char *signal;
        const char *code;
    } rows[] = {{"INT", "code 130"}, {"TERM", "code 143"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *data = sl_scratch_make();
        char *command =
            sl_strf("export XDG_DATA_HOME='%s' TERM=xterm D='%s'\n"
                    "cat >$D/inside <<'END'\n"
                    "stty rows 24 cols 80; stty -a >$D/before\n"
                    "sh -c 'echo $$ >$D/pid; exec sayline rehearse --mic "
                    "audio/demo/clean-t-left-open.flac t-left-open'; echo code $?\n"
                    "stty -a >$D/after\n"
                    "END\n"
                    "sleep 60 | script -qfc 'sh '$D/inside $D/log >/dev/null &\n"
                    "tries=0; until grep -q 'Listen' $D/log 2>/dev/null || [ $tries -gt 300 ]; do "
                    "sleep 0.1; tries=$((tries + 1)); done\n"
                    "kill -%s $(cat $D/pid)\n"
                    "tries=0; until [ -e $D/after ] || [ $tries -gt 300 ]; do sleep 0.1; "
                    "tries=$((tries + 1)); done\n"
                    "cmp $D/before $D/after || exit 91\n"
                    "cat $D/log",
                    data, data, rows[i].signal);
        struct sl_ran ran = sl_run(command);
        assert_int_equal(ran.code, 0);
        const char *left = strstr(ran.out, "\033[?1049l"); /* xterm: back to the usual screen */
        assert_non_null(strstr(ran.out, "\033[?1049h"));
        assert_non_null(left);
        assert_non_null(strstr(left, rows[i].code));
        assert_non_null(strstr(left, "recorded and are kept"));
        sl_ran_clear(&ran);
        free(command);
        sl_scratch_remove(data);
    }
}

static void a_full_disk_is_said_and_the_recording_kept(void **state)
{
    (void)state;
    char *data = sl_scratch_make();
    char *command =
        sl_strf("export XDG_DATA_HOME='%s'\nulimit -f 100\n"
                "sayline rehearse --quiet --prompting none --mic audio/demo/fan-noise-10-db.flac "
                "t-left-open; code=$?\n"
                "flac --totally-silent --test '%s'/sayline/recordings/*.flac || exit 90\n"
                "exit $code",
                data, data);
    struct sl_ran ran = sl_run(command);
    assert_int_equal(ran.code, 1);
    assert_non_null(strstr(ran.err, "the recording could not be written further"));
    assert_non_null(strstr(ran.err, "make room on the disk"));
    assert_non_null(strstr(ran.out, "recorded and are kept"));
    sl_ran_clear(&ran);
    free(command);
    sl_scratch_remove(data);
}

static void no_device_is_exit_code_3(void **state)
{
    (void)state;
    char *data = sl_scratch_make();
    char *command = sl_strf("export XDG_DATA_HOME='%s'\n"
                            "ALSA_CONFIG_PATH=tests/sound/no-device.conf sayline rehearse "
                            "t-left-open; code=$?\n"
                            "ls '%s'/sayline/recordings/ 2>/dev/null; exit $code",
                            data, data);
    struct sl_ran ran = sl_run(command);
    assert_int_equal(ran.code, 3);
    assert_null(strstr(ran.err, "ALSA"));
    assert_null(strstr(ran.out, ".flac")); /* nothing was recorded, nothing is left */
    sl_ran_clear(&ran);
    free(command);
    ran = sl_run("export ASAN_OPTIONS=detect_leaks=0\n"
                 "ALSA_CONFIG_PATH=tests/sound/no-device.conf sayline hear t-left-open");
    assert_int_equal(ran.code, 3);
    assert_non_null(strstr(ran.err, "no sound device was found"));
    sl_ran_clear(&ran);
    sl_scratch_remove(data);
}

/* The texts behind a label in what was printed, in order, as one line; the caller frees. */
static char *labelled(const char *text, const char *label)
{
    struct sl_str found = {0};
    for (const char *at = strstr(text, label); at != NULL; at = strstr(at + 1, label)) {
        const char *value = at + strlen(label);
        sl_str_addf(&found, "%.*s|", (int)strcspn(value, ":\n"), value);
    }
    return sl_str_take(&found);
}

static void a_recording_and_a_device_at_once_are_wrong_use(void **state)
{
    (void)state;
    static const char *const devices[] = {"--input 0", "--output 0", "--input 0 --output 1"};
    for (size_t i = 0; i < sizeof devices / sizeof *devices; i++) {
        char *command = sl_strf("sayline rehearse --mic audio/demo/clean-t-left-open.flac %s "
                                "t-left-open",
                                devices[i]);
        struct sl_ran ran = sl_run(command);
        assert_int_equal(ran.code, 2);
        assert_string_equal(ran.out, "");
        assert_non_null(strstr(ran.err, "--mic: a recording in place of the microphone uses no "
                                        "device"));
        assert_non_null(strstr(ran.err, "leave out --input and --output"));
        sl_ran_clear(&ran);
        free(command);
    }
}

/* Three sessions at a time, in real time. */
static void sessions_mix_repeat_and_fade(void **state)
{
    (void)state;
    char *data = sl_scratch_make();
    char *command = sl_strf("run() { XDG_DATA_HOME='%s'/$1 sayline rehearse --plain --mic "
                            "audio/demo/$2.flac $3 >'%s'/$1.out "
                            "2>'%s'/$1.err & }\n"
                            "run one missed-signal '--prompting none --shuffle --seed 5 --repeat 2 "
                            "t-left-open t-left-closed'\n"
                            "run two missed-signal '--prompting none --shuffle --seed 5 --repeat 1 "
                            "t-left-open t-left-closed'\n"
                            "run fading clean-t-left-open '--repeat 3 t-left-open'\nwait\n"
                            "cat '%s'/one.out; echo '====' ; cat '%s'/two.out; echo '===='; cat "
                            "'%s'/fading.out '%s'/*.err",
                            data, data, data, data, data, data, data);
    struct sl_ran ran = sl_run(command);
    char *one = ran.out;
    char *two = strstr(one, "====");
    char *fading = two == NULL ? NULL : strstr(two + 4, "====");
    if (fading == NULL) {
        fail_msg("%s%s", ran.out, ran.err);
        return;
    }
    *two = '\0';
    *fading = '\0';
    char *first = labelled(one, "Junction:  ");
    char *second = labelled(two + 1, "Junction:  ");
    /* Before and after every run; each junction once a round, the same order for the same seed. */
    const char *a = "t-left-open|t-left-open|";
    const char *b = "t-left-closed|t-left-closed|";
    char *ab = sl_strf("%s%s", a, b);
    char *ba = sl_strf("%s%s", b, a);
    assert_int_equal(strlen(first), 2 * strlen(ab));
    for (size_t round = 0; round < 2; round++) {
        const char *at = first + round * strlen(ab);
        assert_true(strncmp(at, ab, strlen(ab)) == 0 || strncmp(at, ba, strlen(ba)) == 0);
    }
    assert_string_equal(second, strncmp(first, ab, strlen(ab)) == 0 ? ab : ba);
    char *levels = labelled(fading + 1, ", prompting ");
    assert_string_equal(levels, "full.|full.|partial.|"); /* after two clean runs */
    free(levels);
    free(ab);
    free(ba);
    free(first);
    free(second);
    sl_ran_clear(&ran);
    free(command);
    sl_scratch_remove(data);
}

static json_t *object_of(const char *text)
{
    json_t *object = json_loads(text, JSON_DISABLE_EOF_CHECK, NULL);
    if (!json_is_object(object)) {
        fail_msg("no JSON object: %s", text);
    }
    return object;
}

/* The bar: the same mark twice. And fading has taken note of the run. */
static void marking_the_recording_again_gives_the_same_mark(void **state)
{
    (void)state;
    char *data = sl_scratch_make();
    char *command = sl_strf("export XDG_DATA_HOME='%s'\n"
                            "sayline rehearse --json --mic audio/demo/late-gear.flac t-left-open",
                            data);
    struct sl_ran live = sl_run(command);
    assert_int_equal(live.code, 0);
    char *path = recording_in(data);
    char *again = sl_strf("sayline mark --json '%s'", path);
    struct sl_ran marked = sl_run(again);
    assert_int_equal(marked.code, 0);
    json_t *first = object_of(live.out);
    json_t *second = object_of(marked.out);
    assert_int_equal(json_array_size(json_object_get(first, "faults")), 1);
    assert_string_equal(json_string_value(json_object_get(json_object_get(first, "run"), "ended")),
                        "done");
    json_object_del(first, "run");
    if (!json_equal(first, second)) {
        fail_msg("live:\n%s\nagain:\n%s", live.out, marked.out);
    }
    char *prompting = sl_strf("cat '%s/sayline/prompting.json'", data);
    struct sl_ran fading = sl_run(prompting);
    assert_non_null(strstr(
        fading.out, "\"decide-last\":{\"level\":\"full\",\"clean_runs\":0,\"late_runs\":1}"));
    sl_ran_clear(&fading);
    free(prompting);
    json_decref(first);
    json_decref(second);
    sl_ran_clear(&marked);
    sl_ran_clear(&live);
    free(again);
    free(path);
    free(command);
    sl_scratch_remove(data);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_killed_run_leaves_all_but_the_last_second),
        cmocka_unit_test(signals_end_a_run_in_good_order),
        cmocka_unit_test(the_terminal_is_as_before_after_every_way_out),
        cmocka_unit_test(a_full_disk_is_said_and_the_recording_kept),
        cmocka_unit_test(no_device_is_exit_code_3),
        cmocka_unit_test(a_recording_and_a_device_at_once_are_wrong_use),
        cmocka_unit_test(sessions_mix_repeat_and_fade),
        cmocka_unit_test(marking_the_recording_again_gives_the_same_mark),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
