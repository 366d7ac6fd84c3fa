/* Pages and exports as a program: what is written, what is refused. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

/* Runs a command with $D as a folder; the exit code must be as said. */
static void check(const char *folder, const char *command, int code)
{
    char *line = sl_strf("D='%s'; export XDG_DATA_HOME=$D/data\n%s", folder, command);
    struct sl_ran ran = sl_run(line);
    if (ran.code != code) {
        fail_msg("%s: exit code %d, not %d\n%s%s", command, ran.code, code, ran.out, ran.err);
    }
    sl_ran_clear(&ran);
    free(line);
}

static void a_mark_is_written_in_every_form(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    check(folder,
          "cp audio/demo/late-gear.flac $D && sayline mark -q -j t-left-open $D/late-gear.flac "
          "--html $D/run.html --svg $D/run.svg --vtt $D/run.vtt --textgrid $D/run.TextGrid",
          0);
    check(folder, "grep -q '<audio.*src=\"./late-gear.flac\"' $D/run.html", 0);
    check(folder, "grep -q 'class=\"wave\"' $D/run.svg && ! grep -q '<html' $D/run.svg", 0);
    check(folder, "head -n 1 $D/run.vtt | grep -q -x WEBVTT && grep -q 'Gear: late' $D/run.vtt", 0);
    check(folder, "grep -q '\"Gear: late\"' $D/run.TextGrid", 0);
    /* A page elsewhere plays nothing. */
    check(folder,
          "mkdir $D/other && sayline mark -q -j t-left-open $D/late-gear.flac --html "
          "$D/other/run.html && ! grep -q '<audio' $D/other/run.html",
          0);
    sl_scratch_remove(folder);
}

static void a_page_is_of_one_recording_and_has_to_be_written(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    check(folder,
          "sayline mark -j t-left-open --html $D/run.html audio/demo/late-gear.flac "
          "audio/demo/clean-t-left-open.flac; code=$?; test ! -e $D/run.html && exit $code",
          2);
    check(folder, "sayline plan t-left-open --html $D >/dev/null", 1);
    sl_scratch_remove(folder);
}

static void a_route_is_a_set_that_can_be_checked(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    check(folder,
          "cp models/junctions/example-stop-line.yaml $D/by-the-school.yaml\n"
          "printf 't-left-open # first\\n\\n#\\nt-left-open\\n\\t./by-the-school.yaml \\r\\n' "
          "| sayline route --out $D/week.yaml -",
          0);
    check(folder, "sayline homework check $D/week.yaml | grep -q 'at 2 junctions'", 0);
    check(folder, "sayline route --out $D/week.yaml docs/example-route.txt", 1);
    check(folder, "echo '# nothing' | sayline route -", 1);
    check(folder, "sayline route $D/none.txt", 2);
    sl_scratch_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_mark_is_written_in_every_form),
        cmocka_unit_test(a_page_is_of_one_recording_and_has_to_be_written),
        cmocka_unit_test(a_route_is_a_set_that_can_be_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
