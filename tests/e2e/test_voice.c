/* sayline voice: a reading is learnt from where it helps, kept, used, shown and forgotten. */
#include "support/program.h"

#include "core/str.h"
#include "corpus/reading.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define CLEAN "audio/demo/clean-t-left-open.flac"

static char *folder;

static int set_up(void **state)
{
    (void)state;
    folder = sl_scratch_make();
    return folder == NULL ? -1 : 0;
}

static int tear_down(void **state)
{
    (void)state;
    sl_scratch_remove(folder);
    return 0;
}

/* `sayline ARGUMENTS` with the scratch folder as the user's, which ends with `code`. "@" stands for
 * that folder. */
static struct sl_ran sayline(const char *arguments, int code)
{
    struct sl_str command = {0};
    sl_str_addf(&command, "XDG_DATA_HOME=%s sayline ", folder);
    for (const char *at = arguments; *at != '\0'; at++) {
        sl_str_add_bytes(&command, *at == '@' ? folder : at, *at == '@' ? strlen(folder) : 1);
    }
    struct sl_ran ran = sl_run(sl_str_text(&command));
    if (ran.code != code) {
        fail_msg("%s: exit code %d\n%s%s", sl_str_text(&command), ran.code, ran.out, ran.err);
    }
    sl_str_clear(&command);
    return ran;
}

static void expect(const char *arguments, int code, const char *out, const char *err)
{
    struct sl_ran ran = sayline(arguments, code);
    if (strstr(ran.out, out) == NULL || strstr(ran.err, err) == NULL) {
        fail_msg("%s: not \"%s\" and \"%s\" in\n%s%s", arguments, out, err, ran.out, ran.err);
    }
    sl_ran_clear(&ran);
}

/* A text of the JSON object that a command prints; the caller frees. NULL: null. */
static char *json_text(const char *arguments, const char *key)
{
    struct sl_ran ran = sayline(arguments, 0);
    json_t *made = json_loads(ran.out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(made);
    const json_t *value = json_object_get(made, key);
    assert_non_null(value);
    char *text = sl_strdup(json_string_value(value));
    json_decref(made);
    sl_ran_clear(&ran);
    return text;
}

static void read_by(const struct corpus_voice *voice)
{
    const struct corpus_speakers speakers = {.split = CORPUS_TUNE};
    char *path = sl_strf("%s/reading.flac", folder);
    assert_int_equal(corpus_reading_make(&speakers, voice, path, NULL), SL_OK);
    free(path);
}

static void a_voice_far_from_the_models_is_kept_and_used(void **state)
{
    (void)state;
    static const struct corpus_voice child = {"slt", 1.1, 1.1, 1.1};
    expect("voice show", 0, "not known yet", "");
    expect("mark -j t-left-open --own-voice " CLEAN, 2, "", "your voice is not known");
    read_by(&child);
    expect("voice --mic @/reading.flac", 0, "That helps", "");
    expect("voice show", 0, "from 12 phrases", "");
    char *id = json_text("voice show --json", "voice");
    assert_non_null(id);
    expect("mark -j t-left-open --own-voice " CLEAN, 0, "Score:", "voice is known and used");
    char *used = json_text("mark -j t-left-open --own-voice --json " CLEAN, "own_voice");
    assert_string_equal(used, id);
    free(used);
    /* somebody else's recording, and no rehearsal of ours */
    assert_null(json_text("mark -j t-left-open --json " CLEAN, "own_voice"));
    expect("mark -j t-left-open --own-voice --no-own-voice " CLEAN, 2, "", "do not go together");
    free(id);
    expect("voice forget", 0, "forgotten", "");
    expect("voice show", 0, "not known yet", "");
}

static void a_rehearsal_heard_with_the_voice_is_marked_with_it_again(void **state)
{
    (void)state;
    static const char head[] =
        "{\"format\":1,\"junction\":\"t-left-open\",\"from_s\":0,\"own_voice\":\"";
    static const struct corpus_voice child = {"slt", 1.1, 1.1, 1.1};
    read_by(&child);
    expect("voice --mic @/reading.flac", 0, "That helps", "");
    char *id = json_text("voice show --json", "voice");
    const char *const ids[] = {id, "0123456789abcdef"};
    for (size_t i = 0; i < 2; i++) {
        char *note = sl_strf("cp " CLEAN " %s/a.flac && printf '%%s' '%s%s\"}' >%s/a.run.json",
                             folder, head, ids[i], folder);
        struct sl_ran ran = sl_run(note);
        assert_int_equal(ran.code, 0);
        sl_ran_clear(&ran);
        free(note);
        char *used = json_text("mark --json @/a.flac", "own_voice");
        assert_true(i == 0 ? strcmp(used, id) == 0 : used == NULL);
        free(used);
        assert_null(json_text("mark --no-own-voice --json @/a.flac", "own_voice"));
    }
    free(id);
    expect("voice forget", 0, "forgotten", "");
}

/* Whoever collects it hears the recordings without the voice, and wants the same marks. */
static void homework_is_marked_without_the_voice_and_says_so(void **state)
{
    (void)state;
    static const struct corpus_voice child = {"slt", 1.1, 1.1, 1.1};
    read_by(&child);
    expect("voice --mic @/reading.flac", 0, "That helps", "");
    char *made = sl_strf(
        "cd %s && mkdir s.runs && printf 'junctions: [{junction: t-left-open, runs: 1}]' >s.yaml "
        "&& "
        "printf '{\"format\":1,\"junction\":\"t-left-open\",\"from_s\":0,\"ended\":\"done\","
        "\"prompting\":\"none\"}' >s.runs/a.run.json && cp \"$OLDPWD\"/" CLEAN " s.runs/a.flac",
        folder);
    sl_check_in(folder, made, 0);
    free(made);
    expect("homework do @/s.yaml", 0, "All is done.", "homework is marked without it");
    struct sl_ran quiet = sayline("homework do --quiet @/s.yaml", 0);
    assert_null(strstr(quiet.err, "without it"));
    sl_ran_clear(&quiet);
    sl_check_in(folder, "grep -c '\"own_voice\":\"' $D/s.runs/a.mark.json", 1);
    expect("voice forget", 0, "forgotten", "");
}

static void what_cannot_be_learnt_from_is_said(void **state)
{
    (void)state;
    expect("voice --mic " CLEAN, 1, "", "0 of 12 phrases were understood");
    expect("voice --mic @/none.flac", 2, "", "no such file");
    expect("voice sing", 2, "", "sing");
    expect("voice show --mic " CLEAN, 2, "", "do not go together");
    expect("voice show", 0, "not known yet", "");
}

static void a_broken_file_is_refused_and_can_be_left_out(void **state)
{
    (void)state;
    char *spoil = sl_strf("mkdir -p %s/sayline && echo '{\"version\":1}' >%s/sayline/voice.json",
                          folder, folder);
    struct sl_ran ran = sl_run(spoil);
    assert_int_equal(ran.code, 0);
    sl_ran_clear(&ran);
    free(spoil);
    expect("voice show", 1, "", "no voice that sayline kept");
    expect("mark -j t-left-open " CLEAN, 1, "", "no voice that sayline kept");
    expect("mark -j t-left-open --no-own-voice " CLEAN, 0, "Score:", "");
    expect("voice forget", 0, "forgotten", "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_cannot_be_learnt_from_is_said),
        cmocka_unit_test(a_voice_far_from_the_models_is_kept_and_used),
        cmocka_unit_test(a_rehearsal_heard_with_the_voice_is_marked_with_it_again),
        cmocka_unit_test(homework_is_marked_without_the_voice_and_says_so),
        cmocka_unit_test(a_broken_file_is_refused_and_can_be_left_out),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
