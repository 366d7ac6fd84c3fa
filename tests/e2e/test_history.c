/* The history as a program: what goes in, what comes out, what is forgotten. Each test has a data
 * folder of its own. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/json_schema.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#define LATE "audio/demo/late-gear.flac"

static struct sl_ran run_in(const char *folder, const char *command)
{
    char *line = sl_strf("export XDG_DATA_HOME='%s'\n%s", folder, command);
    struct sl_ran ran = sl_run(line);
    free(line);
    return ran;
}

/* Runs a command that must succeed, or fail with that code; the output is the caller's. */
static char *ran_with(const char *folder, const char *command, int code)
{
    struct sl_ran ran = run_in(folder, command);
    if (ran.code != code) {
        fail_msg("%s: exit code %d, not %d\n%s%s", command, ran.code, code, ran.out, ran.err);
    }
    char *out = code == 0 ? ran.out : ran.err;
    free(code == 0 ? ran.err : ran.out);
    return out;
}

static void run_well(const char *folder, const char *command)
{
    free(ran_with(folder, command, 0));
}

static json_t *json_of(const char *folder, const char *command)
{
    char *out = ran_with(folder, command, 0);
    json_t *object = json_loads(out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(object);
    free(out);
    return object;
}

static size_t rows_of(const json_t *export, const char *table)
{
    const json_t *rows = json_object_get(export, table);
    assert_true(json_is_array(rows));
    return json_array_size(rows);
}

static void nothing_yet_is_no_error_and_makes_no_file(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    char *out = ran_with(folder, "sayline progress; ls -A $XDG_DATA_HOME", 0);
    assert_non_null(strstr(out, "is in the history yet"));
    assert_null(strstr(out, "\nsayline\n"));
    free(out);
    json_t *progress = json_of(folder, "sayline progress --json");
    assert_int_equal(json_integer_value(json_object_get(progress, "runs")), 0);
    assert_true(json_is_null(json_object_get(progress, "next")));
    json_decref(progress);
    sl_scratch_remove(folder);
}

static void mark_keeps_only_when_asked_and_each_recording_once(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    run_well(folder, "sayline mark -q -j t-left-open " LATE);
    run_well(folder, "test ! -e $XDG_DATA_HOME/sayline");
    run_well(folder, "sayline mark -q --keep -j t-left-open " LATE);
    run_well(folder, "sayline mark -q --keep -j t-left-open " LATE);
    json_t *export = json_of(folder, "sayline export");
    assert_int_equal(rows_of(export, "runs"), 1);
    assert_int_equal(rows_of(export, "phases"), 5);
    assert_int_equal(rows_of(export, "faults"), 1);
    const json_t *run = json_array_get(json_object_get(export, "runs"), 0);
    assert_string_equal(json_string_value(json_object_get(run, "learner")), "me");
    char *sum = ran_with(folder, "sha256sum < " LATE, 0);
    assert_int_equal(
        strncmp(sum, json_string_value(json_object_get(run, "sha256")), strcspn(sum, " ")), 0);
    free(sum);
    json_decref(export);
    char *out = ran_with(folder, "sayline progress", 0);
    assert_non_null(strstr(out, "Gear: late in the last run, the commonest fault."));
    free(out);
    sl_scratch_remove(folder);
}

/* The junction says otherwise today: marked anew by it, the run has other faults. */
static void runs_are_marked_anew_from_what_was_heard(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    run_well(folder,
             "cp models/junctions/t-left-open.yaml $XDG_DATA_HOME/here.yaml && "
             "cp " LATE " $XDG_DATA_HOME/a.flac && "
             "sayline mark -q --keep -j $XDG_DATA_HOME/here.yaml $XDG_DATA_HOME/a.flac && "
             "sayline mark -q --keep -l Ana -j $XDG_DATA_HOME/here.yaml --approach '20 mph' "
             "$XDG_DATA_HOME/a.flac");
    /* As nothing has changed, nothing changes, with another speed than the junction's neither. */
    static const char *const learners[] = {"me", "Ana"};
    for (size_t i = 0; i < 2; i++) {
        char *command = sl_strf("sayline progress --remark -q -l %s", learners[i]);
        struct sl_ran same = run_in(folder, command);
        assert_int_equal(same.code, 0);
        assert_non_null(strstr(same.err, "1 run was marked anew, 0 of them with other faults"));
        sl_ran_clear(&same);
        free(command);
    }
    run_well(folder, "cp models/junctions/t-left-closed.yaml $XDG_DATA_HOME/here.yaml && "
                     "rm $XDG_DATA_HOME/a.flac"); /* the sound is not needed */
    struct sl_ran ran = run_in(folder, "sayline progress --remark --json");
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.err, "1 run was marked anew, 1 of them with other faults"));
    assert_non_null(strstr(ran.out, "\"view\":\"closed\""));
    sl_ran_clear(&ran);
    run_well(folder, "rm $XDG_DATA_HOME/here.yaml");
    ran = run_in(folder, "sayline progress --remark --json");
    assert_int_equal(ran.code, 0);
    assert_non_null(strstr(ran.err, "1 could not be, and stay as they were"));
    assert_non_null(strstr(ran.err, "here.yaml"));
    sl_ran_clear(&ran);
    sl_scratch_remove(folder);
}

static void a_rehearsal_and_answers_go_in_by_themselves_by_learner(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    run_well(folder, "sayline rehearse -q -l Ana --mic " LATE " t-left-open");
    run_well(folder, "sayline rehearse -q -l Ana --no-history --mic " LATE " t-left-open");
    run_well(folder, "printf 'open\\nclosed\\n' | sayline recall --typed -n 2 -l Ana t-left-open");
    run_well(folder, "echo open | sayline recall --typed -n 1 --no-history -l Ana t-left-open");
    json_t *export = json_of(folder, "sayline export --learner Ana");
    assert_int_equal(rows_of(export, "runs"), 1);
    assert_int_equal(rows_of(export, "answers"), 2);
    const json_t *run = json_array_get(json_object_get(export, "runs"), 0);
    assert_string_equal(json_string_value(json_object_get(run, "prompting")), "full");
    assert_int_equal(json_integer_value(json_object_get(run, "rehearsed")), 1);
    assert_non_null(strstr(json_string_value(json_object_get(run, "sound")), "/learners/Ana/"));
    json_decref(export);
    /* All of it is forgotten, the run that was kept out of the history too; nobody else's is. */
    run_well(folder, "echo open | sayline recall --typed -n 1 -l Ben t-left-open");
    /* an earlier sayline kept this */
    run_well(folder, "echo '{\"version\":1}' >$XDG_DATA_HOME/sayline/learners/Ana/voice.json");
    run_well(folder, "sayline forget --yes Ana");
    run_well(folder, "test ! -e $XDG_DATA_HOME/sayline/learners/Ana && test -e " LATE);
    run_well(folder, "! grep -a -q -r Ana $XDG_DATA_HOME");
    export = json_of(folder, "sayline export");
    assert_int_equal(rows_of(export, "runs"), 0);
    assert_int_equal(rows_of(export, "answers"), 1);
    json_decref(export);
    sl_scratch_remove(folder);
}

static void a_recording_outside_is_named_and_left_alone(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    run_well(folder, "cp " LATE " $XDG_DATA_HOME/mine.flac && "
                     "sayline mark -q --keep -l Ana -j t-left-open $XDG_DATA_HOME/mine.flac");
    char *out = ran_with(folder, "sayline forget --yes Ana", 0);
    assert_non_null(strstr(out, "mine.flac"));
    free(out);
    run_well(folder, "test -e $XDG_DATA_HOME/mine.flac");
    sl_scratch_remove(folder);
}

static void a_link_that_leads_elsewhere_is_refused(void **state)
{
    (void)state;
    static const char *const links[] = {
        "mkdir -p $XDG_DATA_HOME/sayline/learners/Ana && "
        "ln -s $XDG_DATA_HOME/precious $XDG_DATA_HOME/sayline/learners/Ana/recordings",
        "mkdir -p $XDG_DATA_HOME/precious/recordings $XDG_DATA_HOME/sayline/learners && "
        "cp $XDG_DATA_HOME/precious/photo $XDG_DATA_HOME/precious/recordings/photo && "
        "ln -s $XDG_DATA_HOME/precious $XDG_DATA_HOME/sayline/learners/Ana",
    };
    for (size_t i = 0; i < 2; i++) {
        char *folder = sl_scratch_make();
        run_well(folder, "mkdir $XDG_DATA_HOME/precious && echo x >$XDG_DATA_HOME/precious/photo");
        run_well(folder, links[i]);
        char *err = ran_with(folder, "sayline forget --yes Ana", 1);
        assert_non_null(strstr(err, "this is a link that leads to another place"));
        free(err);
        run_well(folder, "test -e $XDG_DATA_HOME/precious/photo");
        sl_scratch_remove(folder);
    }
    /* Of a link in place of a recording only the link goes. */
    char *folder = sl_scratch_make();
    run_well(folder,
             "mkdir -p $XDG_DATA_HOME/sayline/recordings && echo x >$XDG_DATA_HOME/photo && "
             "ln -s $XDG_DATA_HOME/photo $XDG_DATA_HOME/sayline/recordings/a.flac && "
             "sayline forget --yes me && test -e $XDG_DATA_HOME/photo && "
             "test ! -e $XDG_DATA_HOME/sayline/recordings");
    sl_scratch_remove(folder);
}

static void nobody_is_forgotten_without_a_yes(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    run_well(folder, "echo open | sayline recall --typed -n 1 -l Ana t-left-open");
    char *err = ran_with(folder, "echo yes | sayline forget Ana", 2); /* a pipe is nobody */
    assert_non_null(strstr(err, "say --yes"));
    free(err);
    free(ran_with(folder, "sayline forget --yes Ben", 2));
    free(ran_with(folder, "sayline forget --yes ../Ana", 2));
    free(ran_with(folder, "sayline forget", 2));
    free(ran_with(folder, "sayline forget --dry-run Ana", 0));
    json_t *export = json_of(folder, "sayline export");
    assert_int_equal(rows_of(export, "answers"), 1);
    json_decref(export);
    sl_scratch_remove(folder);
}

/* docs/formats.md names every column of the export, with its type, and no other. */
static void every_column_of_the_export_is_documented(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    run_well(folder, "sayline mark -q --keep -j t-left-open " LATE " && "
                     "echo 'open, five mph' | sayline recall --typed -n 1 t-left-open");
    struct schema schema = read_schema("## Export of the history");
    struct schema settings = {.n_keys = 0};
    json_t *export = json_of(folder, "sayline export");
    char *line = json_dumps(export, JSON_COMPACT);
    check_output(line, &schema, &settings);
    const json_t *run = json_array_get(json_object_get(export, "runs"), 0);
    const json_t *answer = json_array_get(json_object_get(export, "answers"), 0);
    size_t n_keys = 6 + json_object_size(run) + json_object_size(answer);
    static const char *const tables[] = {"phrases", "phases", "faults"};
    for (size_t i = 0; i < 3; i++) {
        n_keys += json_object_size(json_array_get(json_object_get(export, tables[i]), 0));
    }
    assert_int_equal(n_keys, schema.n_keys);
    free(line);
    json_decref(export);
    clear_schema(&schema);
    sl_scratch_remove(folder);
}

/* Another program's reading of the CSV, python3's csv and json. */
static void csv_is_read_by_another_program(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    run_well(folder, "sayline mark -q --keep -j t-left-open " LATE);
    free(ran_with(folder, "sayline export --csv", 2));
    free(ran_with(folder, "sayline export --csv --json --out x", 2));
    free(ran_with(folder, "sayline export --learner Ben", 2));
    run_well(folder, "sayline export --csv --out $XDG_DATA_HOME/csv && "
                     "sayline export --out $XDG_DATA_HOME/all.json");
    run_well(folder,
             "python3 -c 'import csv,json,sys\n"
             "all=json.load(open(sys.argv[1]+\"/all.json\"))\n"
             "for t in (\"runs\",\"phrases\",\"phases\",\"faults\",\"answers\"):\n"
             "    rows=list(csv.DictReader(open(sys.argv[1]+\"/csv/\"+t+\".csv\",newline=\"\"),"
             "strict=True))\n"
             "    want=[{k:\"\" if v is None else str(v) for k,v in r.items()} for r in all[t]]\n"
             "    assert rows==want,(t,rows,want)\n"
             "' $XDG_DATA_HOME");
    sl_scratch_remove(folder);
}

static void a_history_of_a_later_version_stops_a_rehearsal_before_it_begins(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    run_well(folder,
             "mkdir $XDG_DATA_HOME/sayline && echo no >$XDG_DATA_HOME/sayline/history.sqlite");
    char *err = ran_with(folder, "sayline rehearse -q --mic " LATE " t-left-open", 1);
    assert_non_null(strstr(err, "this is not a history"));
    free(err);
    run_well(folder, "test ! -e $XDG_DATA_HOME/sayline/recordings");
    free(ran_with(folder, "sayline progress", 1));
    sl_scratch_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_yet_is_no_error_and_makes_no_file),
        cmocka_unit_test(mark_keeps_only_when_asked_and_each_recording_once),
        cmocka_unit_test(runs_are_marked_anew_from_what_was_heard),
        cmocka_unit_test(a_rehearsal_and_answers_go_in_by_themselves_by_learner),
        cmocka_unit_test(a_recording_outside_is_named_and_left_alone),
        cmocka_unit_test(a_link_that_leads_elsewhere_is_refused),
        cmocka_unit_test(nobody_is_forgotten_without_a_yes),
        cmocka_unit_test(every_column_of_the_export_is_documented),
        cmocka_unit_test(csv_is_read_by_another_program),
        cmocka_unit_test(a_history_of_a_later_version_stops_a_rehearsal_before_it_begins),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
