/* sayline cues record: the questions and answers of a recording session, with a recording in place
 * of the microphone. It runs in real time while the answers are there at once, so each take hears
 * the next stretch of speech in it. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>

#define RATE 16000
#define JUNCTION "t-left-open"
#define FIRST "T-junction."
#define FIRST_FILE "audio/cues/scots/t-junction.flac"

/* Adds speech of the pack at a gain, clipped where it is too much, then silence. */
static void add_take(SNDFILE *to, double gain)
{
    SF_INFO info = {0};
    SNDFILE *from = sf_open(SL_SOURCE_DIR "/" FIRST_FILE, SFM_READ, &info);
    assert_non_null(from);
    assert_int_equal(info.samplerate, RATE);
    size_t n = (size_t)info.frames + (size_t)RATE * 3 / 2;
    int16_t *frames = calloc(n, sizeof *frames);
    assert_non_null(frames);
    assert_int_equal(sf_readf_short(from, frames, info.frames), info.frames);
    for (size_t i = 0; i < n; i++) {
        double noise = (double)(i * 7919 % 11) - 5; /* of a quiet room */
        frames[i] = (int16_t)fmax(fmin(frames[i] * gain + noise, INT16_MAX), INT16_MIN);
    }
    assert_int_equal(sf_writef_short(to, frames, (sf_count_t)n), n);
    free(frames);
    sf_close(from);
}

static char *write_takes(const char *folder, const double *gains, size_t n)
{
    char *path = sl_strf("%s/mic.wav", folder);
    SF_INFO info = {.samplerate = RATE, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    SNDFILE *to = sf_open(path, SFM_WRITE, &info);
    assert_non_null(to);
    for (size_t i = 0; i < n; i++) {
        add_take(to, gains[i]);
    }
    sf_close(to);
    return path;
}

static struct sl_ran record(const char *folder, const char *answers)
{
    char *command =
        sl_strf("printf '%s' | sayline cues --mic '%s/mic.wav' record '%s/pack' " JUNCTION, answers,
                folder, folder);
    struct sl_ran ran = sl_run(command);
    free(command);
    return ran;
}

static void assert_in_turn(const char *text, const char *const *parts, size_t n)
{
    const char *at = text;
    for (size_t i = 0; i < n; i++) {
        const char *found = strstr(at, parts[i]);
        if (found == NULL) {
            fail_msg("no \"%s\" where it belongs in:\n%s", parts[i], text);
        }
        at = found + strlen(parts[i]);
    }
}

static void takes_are_judged_retaken_kept_and_the_session_resumed(void **state)
{
    (void)state;
    static const double gains[] = {1, 0.03, 30, 1};
    char *folder = sl_scratch_make();
    char *mic = write_takes(folder, gains, sizeof gains / sizeof *gains);
    /* Take one is good, but taken again by wish; the quiet and the clipped one are taken again by
     * Enter, the last one is kept by Enter; then the session ends. */
    struct sl_ran ran = record(folder, "\\nr\\n\\n\\n\\nq\\n");
    static const char *const told[] = {"1 of ",
                                       FIRST,
                                       "All right.",
                                       "too-quiet",
                                       "records it again",
                                       "clipped",
                                       "records it again",
                                       "All right.",
                                       "2 of ",
                                       "1 cue recorded, "};
    assert_int_equal(ran.code, 0);
    assert_in_turn(ran.out, told, sizeof told / sizeof *told);
    sl_ran_clear(&ran);

    ran = record(folder, "s\\ns\\nq\\n"); /* the first text is not asked for again */
    static const char *const resumed[] = {"1 of ", "2 of ", "3 of ", "0 cues recorded, "};
    assert_int_equal(ran.code, 0);
    assert_null(strstr(ran.out, ": " FIRST "\n"));
    assert_in_turn(ran.out, resumed, sizeof resumed / sizeof *resumed);
    sl_ran_clear(&ran);

    char *command = sl_strf("sayline cues check '%s/pack' " JUNCTION, folder);
    ran = sl_run(command);
    assert_int_equal(ran.code, 1); /* there is more to record */
    assert_non_null(strstr(ran.out, ": 1 of "));
    sl_ran_clear(&ran);
    free(command);
    free(mic);
    sl_scratch_remove(folder);
}

static void the_end_of_the_answers_keeps_what_was_kept(void **state)
{
    (void)state;
    static const double gains[] = {1, 1};
    char *folder = sl_scratch_make();
    char *mic = write_takes(folder, gains, sizeof gains / sizeof *gains);
    struct sl_ran ran = record(folder, "\\nk\\n\\n"); /* the second take is not answered */
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.out, "1 cue recorded, "));
    sl_ran_clear(&ran);
    free(mic);
    sl_scratch_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(takes_are_judged_retaken_kept_and_the_session_resumed),
        cmocka_unit_test(the_end_of_the_answers_keeps_what_was_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
