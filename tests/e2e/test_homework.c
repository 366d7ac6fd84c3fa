/* The built program doing homework with a recording in place of the microphone, in real time. */
#include "support/program.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "core/str.h"

/* A command line with a scratch folder as $D and as the user's; the caller frees. */
static char *in_folder(const char *folder, const char *command)
{
    char *whole = sl_strf("export D='%s' XDG_DATA_HOME='%s/data' XDG_CONFIG_HOME='%s/config' "
                          "XDG_CACHE_HOME='%s/cache'\n%s",
                          folder, folder, folder, folder, command);
    assert_non_null(whole);
    return whole;
}

static struct sl_ran run_in(const char *folder, const char *command)
{
    char *whole = in_folder(folder, command);
    struct sl_ran ran = sl_run(whole);
    free(whole);
    return ran;
}

static void expect(const char *folder, const char *command, int code, const char *words)
{
    struct sl_ran ran = run_in(folder, command);
    if (ran.code != code || (strstr(ran.out, words) == NULL && strstr(ran.err, words) == NULL)) {
        fail_msg("%s: exit code %d\n%s%s", command, ran.code, ran.out, ran.err);
    }
    sl_ran_clear(&ran);
}

static void sets_are_made_checked_and_never_overwritten(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder, "sayline homework new", 0, "junction: t-left-closed");
    expect(folder, "sayline homework new --out $D/a.yaml mini-left-open", 0, "Written");
    expect(folder, "sayline homework check $D/a.yaml", 0, "2 runs at 1 junction\n");
    expect(folder, "sayline homework new --out $D/a.yaml", 1, "already");
    expect(folder, "sayline homework new t-lft-open", 1, "t-left-open");
    expect(folder, "sed 's/runs: 2/runs: 0/' <$D/a.yaml | sayline homework check -", 1,
           "standard input:");
    expect(folder, "sayline homework new --drive mini-left-open", 0, "    drive: yes\n");
    expect(folder, "sayline homework new --ics $D/a.ics && cat $D/a.ics", 0,
           "\r\nBEGIN:VALARM\r\n");
    expect(folder,
           "sed 's/^due.*//' <$D/a.yaml >$D/b.yaml; sayline homework do --ics $D/b.ics $D/b.yaml",
           1, "when it is due");
    expect(folder, "sayline homework left $D/a.yaml", 0, "2 runs are left");
    expect(folder, "sayline homework left $D/none.yaml", 2, "No such file");
    expect(folder, "sayline homework", 2, "needs a");
    expect(folder, "sayline homework do", 2, "1 set");
    expect(folder, "sayline homework give $D/a.yaml", 2, "nothing to do");
    expect(folder, "sayline homework do - <$D/a.yaml", 1, "beside the set");
    sl_scratch_remove(folder);
}

#define SET                                                                                        \
    "printf 'junctions: [{junction: t-left-open, runs: 2}]\\n' >$D/s.yaml\n"                       \
    "set -- homework 'do' --plain --mic audio/demo/clean-t-left-open.flac $D/s.yaml\n"

/* A run is ended by SIGKILL in the middle; another is finished, and its mark lost; then the rest is
 * done. */
static void homework_goes_on_where_it_was_killed(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    struct sl_ran ran =
        run_in(folder,
               SET "sayline \"$@\" >$D/out 2>&1 & tries=0\n"
                   "until grep -q 'Saved' $D/out || [ $tries -gt 900 ]; do sleep 0.1; "
                   "tries=$((tries + 1)); done\n"
                   "until grep -q 'Run 2 of 2' $D/out || [ $tries -gt 900 ]; do sleep 0.1; "
                   "tries=$((tries + 1)); done\n"
                   "sleep 9; kill -KILL $!; wait\n"
                   "rm $D/s.runs/*.mark.json\n" /* as if killed before it was written */
                   "sayline homework left $D/s.yaml && ls $D/s.runs/*.mark.json && sayline \"$@\"");
    if (ran.code != 0) {
        fail_msg("exit code %d\n%s%s", ran.code, ran.out, ran.err);
    }
    assert_non_null(strstr(ran.out, "1 of 2"));
    assert_non_null(strstr(ran.out, "1 more run was made that does not count"));
    assert_non_null(strstr(ran.out, "Run 1 of 1"));
    assert_non_null(strstr(ran.out, "All is done."));
    sl_ran_clear(&ran);
    expect(folder, "sayline homework left --json $D/s.yaml", 0, "\"left\":0");
    expect(folder, "sayline merge $D/s.runs/*.mark.json", 0, "2 of 2 recordings marked");
    expect(folder, "sqlite3 $D/data/sayline/history.sqlite 'SELECT count(*) FROM run'", 0, "2\n");
    expect(folder, "ls $D/s.runs/*.flac | wc -l", 0, "3");
    expect(folder, "sayline homework pack --yes $D/s.yaml && sh tests/e2e/read_bag.sh $D/s-me.zip",
           0, "a right bag of 7 files");
    sl_scratch_remove(folder);
}

/* A finished run without a mark, with names that no bag should have; no time is spent on it. */
#define MADE_RUN                                                                                   \
    "cp models/junctions/t-left-open.yaml \"$D/50%0A.yaml\"; mkdir $D/s.runs\n"                    \
    "printf 'title: \"one\\\\nPayload-Oxum: 1.1\"\njunctions: [{junction: \"./50%%0A.yaml\"}]\n' " \
    ">$D/s.yaml\n"                                                                                 \
    "cp audio/demo/clean-t-left-open.flac $D/s.runs/a%0A.flac\n"                                   \
    "printf '{\"format\":1,\"junction\":\"%s\",\"routine\":\"decide-last\",\"car\":'"              \
    "'\"small-petrol\",\"prompting\":\"none\",\"from_s\":0,\"ended\":\"done\"}' "                  \
    "\"$D/50%0A.yaml\" >$D/s.runs/a%0A.run.json\n"

static void what_is_packed_is_a_right_bag(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder,
           MADE_RUN "sayline homework pack --yes --learner 'Ada B' $D/s.yaml && "
                    "sh tests/e2e/read_bag.sh \"$D/s-Ada B.zip\"",
           0, "a right bag of 4 files");
    expect(folder, "unzip -p \"$D/s-Ada B.zip\" '*/manifest-sha512.txt'", 0,
           "  data/runs/001.flac\n");
    expect(folder, "unzip -p \"$D/s-Ada B.zip\" '*/bag-info.txt'", 0,
           "External-Description: one Payload-Oxum: 1.1\n");
    expect(folder, "unzip -p \"$D/s-Ada B.zip\" '*/bag-info.txt'", 0, "Contact-Name: Ada B\n");
    expect(folder,
           "unzip -p \"$D/s-Ada B.zip\" '*/runs/001.flac' | cmp - $D/s.runs/a%0A.flac && echo same",
           0, "same");
    sl_scratch_remove(folder);
}

static void nothing_is_packed_that_was_not_agreed_to(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder, MADE_RUN "sayline homework pack $D/s.yaml", 2, "say --yes");
    expect(folder, "ls $D/*.zip", 2, "No such file");
    expect(folder, "rm $D/s.runs/*.run.json; sayline homework pack --yes $D/s.yaml", 1,
           "nothing to hand in");
    sl_scratch_remove(folder);
}

/* At a terminal, whatever is typed, the contents are shown before. */
static void a_typed_yes_is_asked_for(void **state)
{
    (void)state;
    static const struct {
        const char *typed, *word;
        int code, bags;
    } rows[] = {{"no\n", "nothing was packed", 1, 0},
                {"y\n", "nothing was packed", 1, 0},
                {"yes, please\n", "nothing was packed", 1, 0},
                {"\x04", "nothing was packed", 1, 0}, /* Ctrl-D: the end of what is typed */
                {"yes\n", "Packed: ", 0, 1}};
    char *folder = sl_scratch_make();
    expect(folder, MADE_RUN "sayline homework left $D/s.yaml", 0, "1 of 1");
    char *command = in_folder(folder, "sayline homework pack $D/s.yaml");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_ran ran = sl_run_typed(command, rows[i].typed);
        const char *asked = strstr(ran.out, "Say yes or no:");
        const char *listed = strstr(ran.out, "runs/001.flac");
        if (ran.code != rows[i].code || strstr(ran.out, rows[i].word) == NULL || asked == NULL ||
            listed == NULL || listed > asked) {
            fail_msg("%s: exit code %d\n%s", rows[i].typed, ran.code, ran.out);
        }
        sl_ran_clear(&ran);
        expect(folder, "find $D -name '*.zip' | wc -l", 0, rows[i].bags == 1 ? "1\n" : "0\n");
    }
    free(command);
    sl_scratch_remove(folder);
}

/* Neither the folder of the set nor of the junction, also where the learner has a path for a name.
 */
static void no_folder_of_this_machine_is_packed(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder,
           MADE_RUN "sayline homework pack --yes $D/s.yaml && unzip -q -d $D/out $D/s-me.zip && "
                    "grep -c '\"junction\":\"50%0A\"' $D/out/s-me/data/runs/001.run.json "
                    "$D/out/s-me/data/runs/001.mark.json",
           0, "001.mark.json:1");
    expect(folder, "grep -F -l -r \"$D\" $D/s.runs", 0, "run.json"); /* there they are */
    expect(folder, "grep -a -F -c -r \"${D##*/}\" $D/out $D/s-me.zip", 1, "s-me.zip:0");
    expect(folder, "sayline homework collect --set $D/s.yaml $D/s-me.zip", 0, "1 of 1 recordings");
    sl_scratch_remove(folder);
}

static void a_bag_that_cannot_be_written_leaves_nothing(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder, MADE_RUN "sayline homework pack --yes --out $D/none/b.zip $D/s.yaml", 1,
           "cannot be written");
    expect(folder, "sayline homework pack --yes $D/s.yaml && ls $D/*.zip*", 0, "s-me.zip\n");
    sl_scratch_remove(folder);
}

/* The reader of bags in these tests tells a wrong one. */
static void the_reader_of_bags_refuses_what_is_wrong(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder,
           MADE_RUN "sayline homework pack --yes --out $D/b.zip $D/s.yaml && "
                    "LC_ALL=C sed -i 's/Payload-Oxum: [0-9]/Payload-Oxum: 0/' $D/b.zip && "
                    "sh tests/e2e/read_bag.sh $D/b.zip",
           1, "broken"); /* ZIP's own checksum */
    expect(folder, "mv $D/b.zip $D/c.zip; sh tests/e2e/read_bag.sh $D/c.zip", 1, "");
    sl_scratch_remove(folder);
}

/* A mark that was changed before packing is told, and one bad bag does not stop the others. */
static void collecting_marks_again_from_the_sound(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder,
           MADE_RUN "sayline homework pack --yes --learner Ada $D/s.yaml && "
                    "sed -i 's/\"overall\":[0-9.]*/\"overall\":99.5/' $D/s.runs/*.mark.json && "
                    "sayline homework pack --yes --learner Bob $D/s.yaml",
           0, "s-Bob.zip");
    struct sl_ran ran =
        run_in(folder, "head -c 9000 $D/s-Ada.zip >$D/half.zip\n"
                       "sayline homework collect --jobs 1 --set $D/s.yaml "
                       "--html $D/class.html $D/s-Ada.zip $D/half.zip $D/s-Bob.zip $D/s-Ada.zip");
    assert_int_equal(ran.code, 1);
    assert_non_null(strstr(ran.err, "half.zip: the ZIP file cannot be read"));
    assert_non_null(strstr(ran.err, "named twice"));
    assert_non_null(strstr(ran.out, "Ada "));
    assert_non_null(strstr(ran.out, "Bob "));
    assert_non_null(strstr(ran.out, "refused: 2 of 4"));
    assert_non_null(strstr(ran.out, "2 of 2 recordings marked"));
    assert_non_null(strstr(ran.out, "Teach next: "));
    const char *differs = strstr(ran.out, "handed in as 100 of 100");
    assert_non_null(differs);
    assert_null(strstr(differs + 1, "handed in as")); /* Bob's only */
    sl_ran_clear(&ran);
    expect(folder, "grep -o '>Ada</th><td[^>]*>1</td>' $D/class.html", 0, "Ada");
    expect(folder, "grep -o 'handed in as 100 of 100' $D/class.html", 0, "100");
    expect(folder, "grep -c '>Refused: half.zip: ' $D/class.html", 0, "1");
    expect(folder, "grep -c '>s-Bob.zip, 001.flac: ' $D/class.html", 0, "1"); /* no folder */
    expect(folder, "sayline homework collect --json --set $D/s.yaml $D/s-Ada.zip", 0,
           "\"differs\":false,\"counts\":true");
    expect(folder, "sayline homework collect --json --set $D/s.yaml $D/s-Bob.zip", 0,
           "\"differs\":true,\"counts\":true");
    expect(folder, "sayline homework collect $D/s-Ada.zip", 2, "--set");
    /* What is unclear is no fault, here or there; the same recording twice is one run. */
    expect(folder,
           "rm $D/s.runs/*.mark.json; cp audio/demo/unclear-signal.flac $D/s.runs/a%0A.flac; "
           "for end in flac run.json; do cp $D/s.runs/a%0A.$end $D/s.runs/b.$end; done; "
           "sed -i 's/%0A.yaml\"}/%0A.yaml\", runs: 2}/' $D/s.yaml; "
           "sayline homework pack --yes --learner Cem $D/s.yaml",
           0, "s-Cem.zip");
    ran = run_in(folder, "sayline homework collect --json --set $D/s.yaml $D/s-Cem.zip");
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.out, "\"differs\":false,\"counts\":true"));
    assert_null(strstr(ran.out, "\"differs\":true"));
    assert_non_null(strstr(ran.out, "the same recording as a run before it"));
    assert_non_null(strstr(ran.out, "\"left\":1"));
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

/* A run that was killed before its mark was made is marked later, and in the history then. */
static void a_run_that_is_marked_late_is_kept(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder, MADE_RUN "sayline homework left --no-history $D/s.yaml && ls $D/data", 2,
           "No such file");
    expect(folder, "rm $D/s.runs/*.mark.json; sayline homework left --learner Ada $D/s.yaml", 0,
           "1 of 1");
    expect(folder, "rm $D/s.runs/*.mark.json; sayline homework left --learner Ada $D/s.yaml", 0,
           "1 of 1");
    expect(folder,
           "sqlite3 $D/data/sayline/history.sqlite 'SELECT count(*), rehearsed, prompting, name "
           "FROM run JOIN learner ON learner.id = run.learner'",
           0, "1|1|none|Ada\n");
    sl_scratch_remove(folder);
}

/* Two drives, the second among others who have priority, and a rehearsal; no time is spent on them.
 */
#define MADE_DRIVES                                                                                \
    "mkdir $D/s.runs; printf 'counts: {least-score: 50}\\njunctions: [{junction: t-left-open, "    \
    "drive: yes, runs: 2}, {junction: t-left-open, prompting: none}]\\n' >$D/s.yaml\n"             \
    "made() { cp audio/demo/$2.flac $D/s.runs/$1.flac; printf '{\"format\":1,\"junction\":'"       \
    "'\"t-left-open\",\"routine\":\"decide-last\",\"car\":\"small-petrol\",\"prompting\":"         \
    "\"none\","                                                                                    \
    "\"from_s\":0,\"ended\":\"done\",\"seed\":%s}' $3 >$D/s.runs/$1.run.json; }\n"                 \
    "made a clean-t-left-open 2; made b late-gear 1; made c early-signal null\n"

static void drives_are_marked_by_words_and_arrival_handed_in_and_driven_again(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder, MADE_DRIVES "sayline homework check $D/s.yaml", 0,
           "3 runs at 1 junction, 2 of them driven");
    struct sl_ran ran = run_in(folder, "sayline homework left $D/s.yaml | tr -s ' '");
    assert_non_null(strstr(ran.out, "t-left-open drive 1 of 2 1 left"));
    assert_non_null(strstr(ran.out, "t-left-open none 1 of 1 done"));
    sl_ran_clear(&ran);
    expect(folder, "sayline homework left --json $D/s.yaml", 0,
           "\"objection\":\"an instructor would have had to step in\"");
    expect(folder, "sayline homework left --json $D/s.yaml", 0,
           "\"driven\":true,\"drive\":[\"gear-late\",\"went-into-traffic\"]");
    expect(folder,
           "sqlite3 -nullvalue - $D/data/sayline/history.sqlite 'SELECT seed, prompting FROM run "
           "ORDER BY seed' | tr '\\n' ' '",
           0, "-|none 1|- 2|- ");
    /* A mark that hides how the car went is found out: it is driven again by the sound. */
    expect(folder,
           "sed -i 's/\"drive\":\\[.*\\]/\"drive\":[]/' $D/s.runs/b.mark.json && "
           "sayline homework pack --yes $D/s.yaml && sh tests/e2e/read_bag.sh $D/s-me.zip",
           0, "a right bag of 10 files");
    for (int again = 0; again < 2; again++) { /* made, then kept */
        ran = run_in(folder, "sayline homework collect --json --set $D/s.yaml $D/s-me.zip");
        assert_int_equal(ran.code, 0);
        assert_non_null(strstr(ran.out, "\"drive\":[],\"differs\":false,\"counts\":true"));
        assert_non_null(strstr(ran.out,
                               "\"drive\":[\"gear-late\",\"went-into-traffic\"],\"differs\""
                               ":true,\"counts\":false"));
        assert_non_null(strstr(ran.out, "\"drive\":null,\"differs\":false,\"counts\":true"));
        assert_non_null(strstr(ran.out, "\"left\":1"));
        sl_ran_clear(&ran);
    }
    expect(folder,
           "sayline homework collect --html $D/class.html --set $D/s.yaml $D/s-me.zip | "
           "tr -s ' \\n' ' '",
           0, "step in. The drive: gear late, went into traffic; handed in: as planned.");
    expect(folder, "grep -c '>s-me.zip: 1 run is left to do<' $D/class.html", 0, "1");
    sl_scratch_remove(folder);
}

/* On a short road, so that it takes little time; who else is there differs from drive to drive. */
static void homework_can_be_driven(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder,
           "printf 'title: a lane\\nkind: t\\nturn: left\\nview: open\\napproach: 20 mph\\n"
           "distance: 90 m\\n' >$D/lane.yaml\n"
           "sayline homework new --drive $D/lane.yaml | sed 's/least-score: 70/least-score: 0/' "
           ">$D/s.yaml\n"
           "sayline homework 'do' --plain --mic audio/demo/clean-t-left-open.flac $D/s.yaml "
           ">$D/out || exit 90\n"
           "for line in 'The car does what you say' 'The words: ' 'Saved, with its mark' "
           "'Drive 2 of 2'; do grep -q \"$line\" $D/out || exit 91; done\n"
           "grep -L '\"drive\":\\[' $D/s.runs/*.mark.json | grep . && exit 92\n"
           "set -- $(grep -h -o '\"seed\":[0-9]*' $D/s.runs/*.run.json | cut -d : -f 2)\n"
           "[ $(($1 + 1)) = $2 ] || exit 93\n"
           "sayline homework left --json $D/s.yaml | grep -o '\"driven\":true' | wc -l",
           0, "2\n");
    expect(folder, "sayline homework left $D/s.yaml", 0,
           "The last run does not count: an instructor would have had to step in.");
    sl_scratch_remove(folder);
}

/* Recordings that were marked before are not marked again, and nothing is left behind. */
static void collecting_can_be_killed_and_goes_on(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder, "sh tests/bench/collect_kill.sh \"$(command -v sayline)\" \"$PWD\" 4", 0,
           "4 kills; wrong: 0");
    sl_scratch_remove(folder);
}

/* The script itself kills 200 times unless told otherwise; each kill costs about 20 s. */
static void runs_told_saved_outlive_kills_at_random_moments(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    expect(folder, "sh tests/bench/homework_kill.sh \"$(command -v sayline)\" \"$PWD\" 3 5", 0,
           "3 kills; wrong: 0");
    sl_scratch_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sets_are_made_checked_and_never_overwritten),
        cmocka_unit_test(homework_goes_on_where_it_was_killed),
        cmocka_unit_test(what_is_packed_is_a_right_bag),
        cmocka_unit_test(nothing_is_packed_that_was_not_agreed_to),
        cmocka_unit_test(a_typed_yes_is_asked_for),
        cmocka_unit_test(no_folder_of_this_machine_is_packed),
        cmocka_unit_test(a_bag_that_cannot_be_written_leaves_nothing),
        cmocka_unit_test(the_reader_of_bags_refuses_what_is_wrong),
        cmocka_unit_test(collecting_marks_again_from_the_sound),
        cmocka_unit_test(a_run_that_is_marked_late_is_kept),
        cmocka_unit_test(drives_are_marked_by_words_and_arrival_handed_in_and_driven_again),
        cmocka_unit_test(homework_can_be_driven),
        cmocka_unit_test(collecting_can_be_killed_and_goes_on),
        cmocka_unit_test(runs_told_saved_outlive_kills_at_random_moments),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
