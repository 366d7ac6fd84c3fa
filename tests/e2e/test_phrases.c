/* The phrasebook's tools, a word added to the dictionary, and marks spread over two workers. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

static void expect(const char *command, int code, const char *out, const char *err)
{
    struct sl_ran ran = sl_run(command);
    if (ran.code != code || strstr(ran.out, out) == NULL || strstr(ran.err, err) == NULL) {
        fail_msg("%s: exit code %d\n%s%s", command, ran.code, ran.out, ran.err);
    }
    sl_ran_clear(&ran);
}

static void shipped_phrasebooks_pass_the_check(void **state)
{
    (void)state;
    expect("sayline phrases check", 0, "0 without pronunciation; 0 pairs too alike", "");
    expect("sayline phrases check -r position-look", 0, "0 pairs too alike", "");
    expect("sayline phrases check --json", 0, "\"schema\":\"sayline-phrases-1\"", "");
}

static void words_are_tried(void **state)
{
    (void)state;
    expect("sayline phrases try 'Into second gear, clutch up.'", 0, "Gear (second gear, clutch up)",
           "");
    expect("sayline phrases try 'no signal left' 'signal'", 0, "Signal (signal left)", "");
    expect("printf 'check the mirrors\\nwait\\n' | sayline phrases try -", 0, "Decide (wait)", "");
    expect("sayline phrases try 'miles'", 1, "phones away", "");
    expect("sayline phrases try 'bananas'", 1, "passed over, as it has no pronunciation: bananas",
           "");
    expect("sayline phrases try --json 'to wait'", 0, "\"settings\":{\"decision\":\"wait\"}", "");
    expect("sayline phrases try --sound audio/demo/clean-t-left-open.flac", 0, "Decide (go)", "");
    expect("sayline phrases try", 2, "", "try needs something");
    expect("sayline phrases say", 2, "", "say check or try");
    expect("sayline phrases check gear", 2, "", "the whole phrasebook");
    expect("sayline phrases try --sound nosuch.wav", 2, "", "nosuch.wav");
}

/* A routine of one's own with a new word: named with its line, and one line in a dictionary of
 * one's own, which is looked for first, is all that it takes to be heard. */
static void a_pronunciation_is_one_line(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    char *make = sl_strf("cd '%s' && mkdir sayline && cp %s/models/pronunciations.dict sayline/ && "
                         "sed 's/- \"\\[select | selecting/- \"[engage | selecting/' "
                         "%s/models/routines/decide-last.yaml >own.yaml && grep -q engage own.yaml",
                         folder, SL_SOURCE_DIR, SL_SOURCE_DIR);
    struct sl_ran made = sl_run(make);
    assert_int_equal(made.code, 0);
    sl_ran_clear(&made);
    char *check = sl_strf("unset SAYLINE_MODELS; XDG_DATA_HOME='%s' sayline phrases check -r "
                          "'%s/own.yaml'",
                          folder, folder);
    char *where = sl_strf("own.yaml:246: no pronunciation for \"engage\"");
    char *own = sl_strf("%s/sayline/pronunciations.dict", folder);
    expect(check, 1, where, "");
    expect(check, 1, own, "");
    char *mark =
        sl_strf("unset SAYLINE_MODELS; XDG_DATA_HOME='%s' sayline mark -q -j t-left-open -r "
                "'%s/own.yaml' audio/demo/clean-t-left-open.flac",
                folder, folder);
    expect(mark, 1, "", "engage");
    char *add = sl_strf("echo 'engage EH N G EY JH' >>'%s'", own);
    made = sl_run(add);
    sl_ran_clear(&made);
    expect(check, 0, "0 without pronunciation", "");
    expect(mark, 0, "No faults.", "");
    free(add);
    free(mark);
    free(own);
    free(where);
    free(check);
    free(make);
    sl_scratch_remove(folder);
}

#define FILES                                                                                      \
    "audio/demo/late-gear.flac audio/demo/missed-signal.flac audio/demo/wrong-gear.flac "          \
    "audio/demo/nosuch.flac"

/* As docs/method.md says for a school: GNU parallel, here with two workers of this machine. */
static void marks_of_two_workers_merge_into_the_same_report(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    char *command = sl_strf(
        "sayline mark -j t-left-open -u --json " FILES " >'%s/one.jsonl' 2>/dev/null; "
        "parallel --will-cite -j2 -N2 sayline mark -j t-left-open -u --json --jobs 1 ::: " FILES
        " >'%s/two.jsonl' 2>/dev/null; sort -r '%s/one.jsonl' >'%s/turned.jsonl'; "
        "cd '%s' && for kind in '' --json; do for of in one two turned; do "
        "sayline merge $kind $of.jsonl >$of.txt || exit 3; cmp one.txt $of.txt || exit 4; done; "
        "head -n 1 one.jsonl >a; tail -n +2 one.jsonl >b; sayline merge $kind b a | cmp - one.txt "
        "|| exit 5; sayline merge $kind - <two.jsonl | cmp - one.txt || exit 6; done; "
        "sayline merge -q one.jsonl; ! sayline merge one.jsonl a 2>&1",
        folder, folder, folder, folder, folder);
    expect(command, 0, "3 of 4 recordings marked", "");
    free(command);
    sl_scratch_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shipped_phrasebooks_pass_the_check),
        cmocka_unit_test(words_are_tried),
        cmocka_unit_test(a_pronunciation_is_one_line),
        cmocka_unit_test(marks_of_two_workers_merge_into_the_same_report),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
