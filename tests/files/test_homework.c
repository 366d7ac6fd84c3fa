/* Homework sets, right and wrong, and the runs found beside them. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "core/drive.h"
#include "core/str.h"
#include "files/atomic.h"
#include "files/homework_file.h"
#include "support/temp_folder.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static void the_template_is_a_right_set(void **state)
{
    (void)state;
    static const char *const junctions[] = {"t-left-open", "mini-left-open"};
    struct sl_str text = {0};
    struct sl_homework set = {0};
    struct sl_error error = {0};
    const struct sl_homework_draft made = {junctions, 2, false, {2026, 3, 14}};
    sl_homework_template(&text, &made);
    if (sl_homework_parse(sl_str_text(&text), "sets/week.yaml", &set, &error) != SL_OK) {
        fail_msg("%s: %s", error.where, error.what);
    }
    assert_string_equal(set.name, "week");
    assert_string_equal(set.routine_name, "decide-last");
    assert_int_equal(set.n_items, 2);
    assert_string_equal(set.items[1].junction, "mini-left-open"); /* a name, not beside the set */
    assert_int_equal(set.items[1].runs, 2);
    assert_int_equal(set.items[1].prompting, SL_PROMPTING_PARTIAL);
    assert_false(set.items[1].drive);
    assert_true(set.due_known && set.due.year == 2026 && set.due.month == 3 && set.due.day == 14);
    assert_float_equal(set.least_score, 70, 0);
    assert_int_equal(set.most_faults, SL_HOMEWORK_ANY_FAULTS);
    sl_homework_clear(&set);
    sl_str_clear(&text);
}

static void a_junction_can_be_rehearsed_and_driven(void **state)
{
    (void)state;
    static const char *const junctions[] = {"t-left-open", "mini-left-open"};
    const struct sl_homework_draft made = {junctions, 2, true, {2026, 3, 14}};
    struct sl_str text = {0};
    struct sl_homework set = {0};
    sl_homework_template(&text, &made);
    sl_str_add(&text, "  - {junction: t-left-open, prompting: full, drive: no}\n");
    assert_int_equal(sl_homework_parse(sl_str_text(&text), "week.yaml", &set, NULL), SL_OK);
    assert_int_equal(set.n_items, 3);
    assert_true(set.items[0].drive && set.items[1].drive);
    assert_int_equal(set.items[0].prompting, SL_PROMPTING_NONE); /* the set's is partial */
    assert_false(set.items[2].drive);
    assert_int_equal(set.items[2].prompting, SL_PROMPTING_FULL);
    sl_homework_clear(&set);
    sl_str_clear(&text);
}

static void a_junction_can_ask_for_its_own_prompting(void **state)
{
    (void)state;
    struct sl_homework set = {0};
    const char *text = "prompting: full\n"
                       "counts: {most-faults: 0}\n"
                       "junctions:\n"
                       "  - junction: t-left-open\n"
                       "  - {junction: t-left-closed, prompting: none, runs: 20}\n";
    assert_int_equal(sl_homework_parse(text, "week.yaml", &set, NULL), SL_OK);
    assert_int_equal(set.items[0].prompting, SL_PROMPTING_FULL);
    assert_int_equal(set.items[0].runs, 1);
    assert_int_equal(set.items[1].prompting, SL_PROMPTING_NONE);
    assert_int_equal(set.items[1].runs, 20);
    assert_int_equal(set.most_faults, 0);
    assert_false(set.due_known);
    sl_homework_clear(&set);
}

static void wrong_sets_are_refused_where_they_are_wrong(void **state)
{
    (void)state;
    static const struct {
        const char *text, *where, *what;
    } rows[] = {
        {"title: x\n", "week.yaml:1:1", "junctions"},
        {"junctions: []\n", "week.yaml:1:12", "0 junctions"},
        {"junctions: t-left-open\n", "week.yaml:1:12", NULL},
        {"junctions: [t-left-open]\n", "week.yaml:1:13", NULL},
        {"junctions: [{junction: t-lft-open}]\n", "week.yaml:1:24", "t-lft-open"},
        {"junctions: [{junction: -}]\n", "week.yaml:1:24", NULL},
        {"junctions: [{runs: 2}]\n", "week.yaml:1:13", "junction"},
        {"junctions: [{junction: t-left-open, runs: 0}]\n", "week.yaml:1:43", "0"},
        {"junctions: [{junction: t-left-open, runs: 21}]\n", "week.yaml:1:43", "21"},
        {"junctions: [{junction: t-left-open, runs: 1.5}]\n", "week.yaml:1:43", "1.5"},
        {"junctions: [{junction: t-left-open}, {junction: t-left-open}]\n", "week.yaml:1:49",
         "twice"},
        {"junctions: [{junction: t-left-open, prompting: fading}]\n", "week.yaml:1:48", "fading"},
        {"junctions: [{junction: t-left-open, drive: perhaps}]\n", "week.yaml:1:44", "perhaps"},
        {"junctions: [{junction: t-left-open, drive: yes, prompting: full}]\n", "week.yaml:1:60",
         "no prompting"},
        {"junctions: [{junction: t-left-open, drive: yes}, {junction: t-left-open, drive: yes}]\n",
         "week.yaml:1:61", "twice as a drive"},
        {"due: 2026-02-30\njunctions: [{junction: t-left-open}]\n", "week.yaml:1:6", "2026-02-30"},
        {"due: tomorrow\njunctions: [{junction: t-left-open}]\n", "week.yaml:1:6", "tomorrow"},
        {"counts: {least-score: 101}\njunctions: [{junction: t-left-open}]\n", "week.yaml:1:23",
         "101"},
        {"counts: {most-faults: -1}\njunctions: [{junction: t-left-open}]\n", "week.yaml:1:23",
         "-1"},
        {"counts: {score: 1}\njunctions: [{junction: t-left-open}]\n", "week.yaml:1:10", "score"},
        {"routine: no-such\njunctions: [{junction: t-left-open}]\n", "week.yaml:1:10", "no-such"},
        {"car: no-such\njunctions: [{junction: t-left-open}]\n", "week.yaml:1:6", "no-such"},
        {"jnctions: []\n", "week.yaml:1:1", "jnctions"},
        {"", "week.yaml", NULL},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_error error = {0};
        struct sl_homework set = {0};
        enum sl_status status = sl_homework_parse(rows[i].text, "week.yaml", &set, &error);
        bool right = status != SL_OK && error.where != NULL && error.what != NULL &&
                     strncmp(error.where, rows[i].where, strlen(rows[i].where)) == 0 &&
                     (rows[i].what == NULL || strstr(error.what, rows[i].what) != NULL);
        if (!right) {
            fail_msg("%s: %s: %s", rows[i].text, error.where, error.what);
        }
        assert_non_null(error.mend);
        assert_int_equal(set.n_items, 0); /* untouched */
        sl_error_clear(&error);
    }
}

static void put(const struct temp_folder *folder, const char *name, const char *text)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(folder, name, path);
    assert_int_equal(sl_write_text_file(path, text, strlen(text), NULL), SL_OK);
}

#define RUN_OF(ended)                                                                              \
    "{\"format\":1,\"junction\":\"t-left-open\",\"routine\":\"decide-last\",\"prompting\":"        \
    "\"partial\",\"from_s\":1.5,\"ended\":\"" ended "\"}"
#define MARK                                                                                       \
    "{\"schema\":\"sayline-mark-2\",\"file\":\"a.flac\",\"junction\":\"t-left-open\",\"routine\":" \
    "\"decide-last\",\"phases\":[{\"phase\":\"gear\",\"heard\":true,\"unclear\":false}],"          \
    "\"faults\":[{\"phase\":\"gear\",\"kind\":\"late\"}],\"scores\":{\"overall\":88}}"

static void runs_are_found_by_their_files_alone(void **state)
{
    (void)state;
    struct temp_folder folder;
    struct sl_homework_takes takes = {0};
    assert_int_equal(temp_folder_make(&folder), 0);
    put(&folder, "d.flac", "");
    put(&folder, "d.run.json", RUN_OF("running"));
    put(&folder, "a.flac", "");
    put(&folder, "a.run.json", RUN_OF("done"));
    put(&folder, "a.mark.json", MARK);
    put(&folder, "b.flac", "");
    put(&folder, "b.run.json", RUN_OF("done"));
    put(&folder, "b.mark.json", "{\"schema\":\"sayline-mark-2\""); /* broken: as no mark */
    put(&folder, "c.run.json", RUN_OF("done"));                    /* no recording: no run */
    put(&folder, "e.flac", "");                                    /* no run file: no run */
    put(&folder, "f.flac", "");
    put(&folder, "f.run.json", "nonsense");
    assert_int_equal(sl_homework_takes_find(folder.path, &takes, NULL), SL_OK);
    assert_int_equal(takes.count, 3);
    static const struct {
        const char *ending;
        bool finished, marked;
    } rows[] = {{"/a.flac", true, true}, {"/b.flac", true, false}, {"/d.flac", false, false}};
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        const struct sl_homework_take *take = &takes.items[i];
        assert_non_null(strstr(take->recording, rows[i].ending));
        assert_string_equal(take->junction, "t-left-open");
        assert_int_equal(take->run.finished, rows[i].finished);
        assert_int_equal(take->run.marked, rows[i].marked);
        assert_int_equal(take->run.prompting, SL_PROMPTING_PARTIAL);
    }
    assert_float_equal(takes.items[0].run.score, 88, 0);
    assert_int_equal(takes.items[0].run.faults, 1);
    sl_homework_takes_clear(&takes);
    temp_folder_remove(&folder);
    assert_int_equal(sl_homework_takes_find(folder.path, &takes, NULL), SL_OK); /* is gone */
    assert_int_equal(takes.count, 0);
}

#define DRIVEN                                                                                     \
    "{\"format\":1,\"junction\":\"t-left-open\",\"routine\":\"decide-last\",\"prompting\":"        \
    "\"none\",\"from_s\":1.5,\"ended\":\"done\",\"seed\":7}"
#define DRIVE_MARK(drive)                                                                          \
    "{\"schema\":\"sayline-mark-2\",\"file\":\"a.flac\",\"junction\":\"t-left-open\",\"routine\":" \
    "\"decide-last\",\"phases\":[{\"phase\":\"gear\",\"heard\":true,\"unclear\":false}],"          \
    "\"faults\":[],\"scores\":{\"overall\":88}" drive "}"

static void drives_are_told_from_rehearsals_and_what_came_of_them(void **state)
{
    (void)state;
    struct temp_folder folder;
    struct sl_homework_takes takes = {0};
    struct sl_homework set = {0};
    char *json = NULL;
    assert_int_equal(temp_folder_make(&folder), 0);
    static const struct {
        const char *name, *run, *mark;
        bool driven, marked;
        const char *shown; /* in JSON */
    } rows[] = {
        {"a", DRIVEN, DRIVE_MARK(",\"drive\":[\"jolt\",\"stall\"]"), true, true,
         "\"driven\":true,\"drive\":[\"jolt\",\"stall\"]"},
        {"b", DRIVEN, DRIVE_MARK(",\"drive\":[]"), true, true, "\"driven\":true,\"drive\":[]"},
        {"c", DRIVEN, DRIVE_MARK(""), true, false, "\"driven\":true,\"drive\":null"},
        {"d", RUN_OF("done"), DRIVE_MARK(""), false, true, "\"driven\":false,\"drive\":null"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        char name[32];
        snprintf(name, sizeof name, "%s.flac", rows[i].name);
        put(&folder, name, "");
        snprintf(name, sizeof name, "%s.run.json", rows[i].name);
        put(&folder, name, rows[i].run);
        snprintf(name, sizeof name, "%s.mark.json", rows[i].name);
        put(&folder, name, rows[i].mark);
    }
    assert_int_equal(sl_homework_takes_find(folder.path, &takes, NULL), SL_OK);
    assert_int_equal(
        sl_homework_parse("junctions: [{junction: t-left-open, drive: yes, runs: 2}]\n",
                          "week.yaml", &set, NULL),
        SL_OK);
    const struct sl_homework_view view = {.path = "week.yaml", .set = &set, .takes = &takes};
    assert_int_equal(sl_homework_to_json(&view, &json, NULL), SL_OK);
    assert_int_equal(takes.count, COUNT_OF(rows));
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        assert_int_equal(takes.items[i].run.driven, rows[i].driven);
        assert_int_equal(takes.items[i].run.marked, rows[i].marked);
        assert_int_equal(takes.items[i].seed, rows[i].driven ? 7 : 0);
        assert_non_null(strstr(json, rows[i].shown));
    }
    assert_true(takes.items[0].run.came_of == (SL_CAME_OF(SL_JOLT) | SL_CAME_OF(SL_STALL)));
    /* The car stalled in a, c is not marked, d was no drive: b counts. */
    assert_non_null(strstr(json, "\"drive\":true,\"prompting\":null,\"wanted\":2,\"counted\":1"));
    free(json);
    sl_homework_clear(&set);
    sl_homework_takes_clear(&takes);
    temp_folder_remove(&folder);
}

static void json_tells_what_is_left_and_why(void **state)
{
    (void)state;
    struct temp_folder folder;
    struct sl_homework_takes takes = {0};
    struct sl_homework set = {0};
    assert_int_equal(temp_folder_make(&folder), 0);
    put(&folder, "a.flac", "");
    put(&folder, "a.run.json", RUN_OF("done"));
    put(&folder, "a.mark.json", MARK);
    put(&folder, "b.flac", "");
    put(&folder, "b.run.json", RUN_OF("stopped"));
    assert_int_equal(sl_homework_takes_find(folder.path, &takes, NULL), SL_OK);
    assert_int_equal(sl_homework_parse("due: 2026-03-04\njunctions: [{junction: t-left-open, "
                                       "runs: 3}]\n",
                                       "week.yaml", &set, NULL),
                     SL_OK);
    const struct sl_homework_view view = {.path = "week.yaml", .set = &set, .takes = &takes};
    char *json = NULL;
    assert_int_equal(sl_homework_to_json(&view, &json, NULL), SL_OK);
    json_t *object = json_loads(json, 0, NULL);
    assert_int_equal(json_integer_value(json_object_get(object, "left")), 2);
    assert_string_equal(json_string_value(json_object_get(object, "due")), "2026-03-04");
    const json_t *runs = json_object_get(object, "runs");
    assert_true(json_is_true(json_object_get(json_array_get(runs, 0), "counts")));
    assert_true(json_is_null(json_object_get(json_array_get(runs, 0), "objection")));
    assert_false(json_is_true(json_object_get(json_array_get(runs, 1), "counts")));
    assert_true(json_is_string(json_object_get(json_array_get(runs, 1), "objection")));
    json_decref(object);
    free(json);
    sl_homework_clear(&set);
    sl_homework_takes_clear(&takes);
    temp_folder_remove(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_template_is_a_right_set),
        cmocka_unit_test(a_junction_can_be_rehearsed_and_driven),
        cmocka_unit_test(a_junction_can_ask_for_its_own_prompting),
        cmocka_unit_test(wrong_sets_are_refused_where_they_are_wrong),
        cmocka_unit_test(runs_are_found_by_their_files_alone),
        cmocka_unit_test(drives_are_told_from_rehearsals_and_what_came_of_them),
        cmocka_unit_test(json_tells_what_is_left_and_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
