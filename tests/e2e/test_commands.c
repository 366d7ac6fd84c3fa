/* The built program: exit codes, what is said where, and results that cannot be written. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define CLEAN "audio/demo/clean-t-left-open.flac"

struct row {
    const char *name;
    const char *command;
    int code;
    const char
        *out; /* must occur on standard output; "": nothing may be there; NULL: not looked at */
    const char *err; /* the same for standard error */
};

static void check_text(const struct row *row, const char *stream, const char *text,
                       const char *wanted)
{
    bool right =
        wanted == NULL || (wanted[0] == '\0' ? text[0] == '\0' : strstr(text, wanted) != NULL);
    if (!right) {
        fail_msg("%s: %s is\n%s\ninstead of\n%s", row->name, stream, text, wanted);
    }
}

static void check_rows(const struct row *rows, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        struct sl_ran ran = sl_run(rows[i].command);
        if (ran.code != rows[i].code) {
            fail_msg("%s: exit code %d instead of %d\n%s%s", rows[i].name, ran.code, rows[i].code,
                     ran.out, ran.err);
        }
        check_text(&rows[i], "standard output", ran.out, rows[i].out);
        check_text(&rows[i], "standard error", ran.err, rows[i].err);
        sl_ran_clear(&ran);
    }
}
#define CHECK_ROWS(rows) check_rows(rows, sizeof(rows) / sizeof *(rows))

static void wrong_use_is_exit_code_2_with_the_nearest_name(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"no command", "sayline", 2, "", "a command is needed"},
        {"unknown command", "sayline plann t-left-open", 2, "", "did you mean `sayline plan`?"},
        {"far command", "sayline xyzzyx", 2, "", "`sayline --help` lists the commands"},
        {"unknown option", "sayline mark --juntion t-left-open a.wav", 2, "",
         "did you mean --junction?"},
        {"no junction", "sayline mark a.wav", 2, "", "mark needs --junction"},
        {"no file", "sayline mark --junction t-left-open", 2, "", "mark needs a FILE"},
        {"unknown junction", "sayline plan t-left-opne", 2, "", "t-left-open"},
        {"unknown routine", "sayline plan --routine decide-first t-left-open", 2, "",
         "decide-last"},
        {"unknown car", "sayline plan --car small-petrool t-left-open", 2, "", "small-petrol"},
        {"part of a name", "sayline plan t-right", 2, "",
         "did you mean 't-right-closed' or 't-right-open'?"},
        {"no name at all", "sayline plan xyzzy", 2, "", "one of these names:"},
        {"no junction file", "sayline plan ./nosuch.yaml", 2, "", "nosuch.yaml"},
        {"jobs 0", "sayline mark -j t-left-open --jobs 0 a.wav", 2, "", "--jobs"},
        {"jobs 1.5", "sayline mark -j t-left-open --jobs 1.5 a.wav", 2, "", "--jobs"},
        {"jobs 65", "sayline mark -j t-left-open --jobs 65 a.wav", 2, "", "--jobs"},
        {"jobs many", "sayline mark -j t-left-open --jobs many a.wav", 2, "", "--jobs"},
        {"negative from", "sayline mark -j t-left-open --from -1 a.wav", 2, "", "--from"},
        {"no number", "sayline mark -j t-left-open --from nan a.wav", 2, "", "--from"},
        {"colour", "sayline plan --colour blue t-left-open", 2, "", "auto, always or never"},
        {"two junctions", "sayline plan t-left-open t-left-closed", 2, "", "too many"},
        {"list of what", "sayline list routine", 2, "", "did you mean routines?"},
        {"kind", "sayline check --kind road a.yaml", 2, "", "junction, routine or car"},
    };
    CHECK_ROWS(rows);
}

static void files_that_cannot_be_used_are_exit_code_1(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"no recording", "sayline mark -j t-left-open nosuch.wav", 1, "", "nosuch.wav"},
        {"a folder", "sayline mark -j t-left-open docs", 1, "", "docs"},
        {"text as junction", "sayline plan LICENSE.yaml || sayline check LICENSE", 1, "",
         "LICENSE"},
        {"a wrong speed", "sayline plan --approach '300 mph' t-left-open", 1, "", "300"},
        {"no speed", "sayline plan --approach fast t-left-open", 1, "", "mph"},
        {"from beyond the end", "sayline mark -j t-left-open --from 3600 " CLEAN, 1, "", "only"},
        {"one of two", "sayline mark -j t-left-open nosuch.wav " CLEAN, 1,
         "1 of 2 recordings marked", "nosuch.wav"},
        {"empty standard input", "sayline mark -j t-left-open -", 1, "", "sayline:"},
        {"a rate of 0 Hz",
         "printf 'RIFF\\054\\0\\0\\0WAVEfmt \\020\\0\\0\\0\\1\\0\\1\\0\\0\\0\\0\\0"
         "\\0\\0\\0\\0\\2\\0\\020\\0data\\010\\0\\0\\0\\0\\0\\0\\0\\0\\0\\0\\0' "
         "| sayline mark -j t-left-open -",
         1, "", "the sound file is damaged, or of a kind that cannot be read\n"},
    };
    CHECK_ROWS(rows);
}

static void what_is_asked_for_is_done_with_exit_code_0(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"version", "sayline --version", 0, "sayline ", ""},
        {"help", "sayline --help", 0, "Commands:", ""},
        {"command help", "sayline mark --help", 0, "Usage: sayline mark", ""},
        {"plan", "sayline plan t-left-open", 0, "Last stop:", ""},
        {"plan of another routine", "sayline plan -r position-look t-left-open", 0, "Position", ""},
        {"plan as JSON", "sayline plan --json t-left-open", 0, "{", ""},
        {"list", "sayline list", 0, "decide-last", ""},
        {"list cars", "sayline list cars", 0, "small-petrol", ""},
        {"check", "sayline check models/junctions/*.yaml", 0, "a right junction", ""},
        {"check routines", "sayline check -k routine models/routines/*.yaml", 0, "a right routine",
         ""},
        {"check cars", "sayline check -k car models/cars/*.yaml", 0, "a right car", ""},
        {"mark", "sayline mark -j t-left-open " CLEAN, 0, "Score:", ""},
        {"untimed", "sayline mark -j t-left-open -u " CLEAN, 0, "timing was not marked", ""},
        {"standard input", "sayline mark -j t-left-open - <" CLEAN, 0, "standard input", ""},
        {"a pipe", "cat " CLEAN " | sayline mark -j t-left-open -", 0, "Score:", ""},
        {"many files", "sayline mark -j t-left-open --jobs 2 " CLEAN " " CLEAN, 0,
         "2 of 2 recordings marked", ""},
        {"no colour without a terminal",
         "sayline mark -j t-left-open " CLEAN " | grep -c \"$(printf '\\033')\" || true", 0, "0\n",
         ""},
        {"colour on demand",
         "sayline mark -j t-left-open --colour always " CLEAN
         " | grep -q \"$(printf '\\033')\" && echo coloured",
         0, "coloured", ""},
        {"a reader that stops early", "sayline list | head -n 1", 0, "junctions:\n", ""},
    };
    CHECK_ROWS(rows);
}

static void quiet_shows_faults_and_score_only(void **state)
{
    (void)state;
    struct sl_ran ran = sl_run("sayline mark -j t-left-open --quiet " CLEAN);
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.out, "Score:"));
    assert_null(strstr(ran.out, "Plan:"));
    assert_null(strstr(ran.out, "Coaching figures"));
    sl_ran_clear(&ran);
}

static void results_that_cannot_be_written_are_noticed(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"help", "sayline --help >/dev/full", 1, "", "No space left on device"},
        {"version", "sayline --version >/dev/full", 1, "", "No space left on device"},
        {"plan", "sayline plan t-left-open >/dev/full", 1, "", "No space left on device"},
        {"list", "sayline list >/dev/full", 1, "", "No space left on device"},
        {"mark", "sayline mark -j t-left-open " CLEAN " " CLEAN " >/dev/full", 1, "",
         "No space left on device"},
        {"mark as JSON", "sayline mark -j t-left-open --json " CLEAN " >/dev/full", 1, "",
         "No space left on device"},
        {"closed", "sayline plan t-left-open >&-", 1, "", "cannot be written"},
    };
    CHECK_ROWS(rows);
}

/* The command that `hear` prints marks what it wrote, with everything that it was made with. */
static void what_hear_writes_is_marked_by_the_command_it_prints(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    char *command =
        sl_strf("cd '%s' && mkdir 'a b' && sayline hear --cues none --approach '25 mph' --car "
                "small-petrol --routine position-look --out 'a b/model.flac' t-left-closed >told "
                "&& sed -n 's/^  sayline/sayline/p' told >do.sh && cat do.sh && sh ./do.sh",
                folder);
    struct sl_ran ran = sl_run(command);
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.out, "--routine position-look --car small-petrol --approach "
                                    "'25 mph' --from "));
    assert_non_null(strstr(ran.out, "'a b/model.flac'\n"));
    assert_non_null(strstr(ran.out, "25 mph down to"));
    assert_non_null(strstr(ran.out, "100 of 100"));
    sl_ran_clear(&ran);
    free(command);
    sl_scratch_remove(folder);
}

static void tables_fit_the_terminal(void **state)
{
    (void)state;
    static const struct {
        const char *command;
        size_t width;
    } rows[] = {
        {"COLUMNS=80 sayline plan t-left-open", 80},
        {"COLUMNS=80 sayline mark -j t-left-open " CLEAN, 80},
        {"COLUMNS=40 sayline plan t-left-open", 40},
        {"COLUMNS=40 sayline mark -j t-left-closed " CLEAN, 40},
        {"COLUMNS=99999 sayline plan t-left-open", 100},
        {"COLUMNS=66 sayline plan xyzzy 2>&1 || true", 66},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_ran ran = sl_run(rows[i].command);
        assert_int_equal(ran.code, 0);
        for (char *line = ran.out; *line != '\0';) {
            size_t length = strcspn(line, "\n");
            if (length > rows[i].width) {
                fail_msg("%s: %.*s", rows[i].command, (int)length, line);
            }
            line += length + (line[length] == '\n' ? 1 : 0);
        }
        sl_ran_clear(&ran);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wrong_use_is_exit_code_2_with_the_nearest_name),
        cmocka_unit_test(files_that_cannot_be_used_are_exit_code_1),
        cmocka_unit_test(what_is_asked_for_is_done_with_exit_code_0),
        cmocka_unit_test(quiet_shows_faults_and_score_only),
        cmocka_unit_test(results_that_cannot_be_written_are_noticed),
        cmocka_unit_test(what_hear_writes_is_marked_by_the_command_it_prints),
        cmocka_unit_test(tables_fit_the_terminal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
