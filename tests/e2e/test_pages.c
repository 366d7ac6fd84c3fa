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

static void a_mark_is_written_in_every_form(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    sl_check_in(
        folder,
        "cp audio/demo/late-gear.flac $D && sayline mark -q -j t-left-open $D/late-gear.flac "
        "--html $D/run.html --svg $D/run.svg --vtt $D/run.vtt --textgrid $D/run.TextGrid",
        0);
    sl_check_in(folder, "grep -q '<audio.*src=\"./late-gear.flac\"' $D/run.html", 0);
    sl_check_in(folder, "grep -q 'class=\"wave\"' $D/run.svg && ! grep -q '<html' $D/run.svg", 0);
    sl_check_in(folder,
                "head -n 1 $D/run.vtt | grep -q -x WEBVTT && grep -q 'Gear: late' $D/run.vtt", 0);
    sl_check_in(folder, "grep -q '\"Gear: late\"' $D/run.TextGrid", 0);
    /* A page elsewhere plays nothing. */
    sl_check_in(folder,
                "mkdir $D/other && sayline mark -q -j t-left-open $D/late-gear.flac --html "
                "$D/other/run.html && ! grep -q '<audio' $D/other/run.html",
                0);
    sl_scratch_remove(folder);
}

static void a_page_is_of_one_recording_and_has_to_be_written(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    sl_check_in(folder,
                "sayline mark -j t-left-open --html $D/run.html audio/demo/late-gear.flac "
                "audio/demo/clean-t-left-open.flac; code=$?; test ! -e $D/run.html && exit $code",
                2);
    sl_check_in(folder, "sayline plan t-left-open --html $D >/dev/null", 1);
    sl_scratch_remove(folder);
}

static void a_route_is_a_set_that_can_be_checked(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    sl_check_in(
        folder,
        "cp models/junctions/example-stop-line.yaml $D/by-the-school.yaml\n"
        "printf 't-left-open # first\\n\\n#\\nt-left-open\\n\\t./by-the-school.yaml \\r\\n' "
        "| sayline route --out $D/week.yaml -",
        0);
    sl_check_in(folder, "sayline homework check $D/week.yaml | grep -q 'at 2 junctions'", 0);
    sl_check_in(folder, "sayline route --out $D/week.yaml docs/example-route.txt", 1);
    sl_check_in(folder, "echo '# nothing' | sayline route -", 1);
    sl_check_in(folder, "sayline route $D/none.txt", 2);
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
