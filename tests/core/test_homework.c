/* Which runs count for homework, and what is left. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "core/drive.h"
#include "core/homework.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static struct sl_homework_item items[] = {
    {.name = "bridge-street", .prompting = SL_PROMPTING_PARTIAL, .runs = 2},
    {.name = "mill-lane", .prompting = SL_PROMPTING_NONE, .runs = 1},
};

static const struct sl_homework set = {.name = "week",
                                       .routine_name = "decide-last",
                                       .least_score = 70,
                                       .most_faults = 1,
                                       .items = items,
                                       .n_items = COUNT_OF(items)};

/* A run that counts. */
static struct sl_homework_run good_run(const char *junction)
{
    return (struct sl_homework_run){.junction = junction,
                                    .routine = "decide-last",
                                    .prompting = SL_PROMPTING_NONE,
                                    .finished = true,
                                    .marked = true,
                                    .score = 70,
                                    .faults = 1};
}

static void a_run_counts_or_its_objection_is_named(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct sl_homework_run run;
        const char *word; /* of the objection; NULL: it counts */
    } rows[] = {
        {"on the bounds",
         {"bridge-street", "decide-last", SL_PROMPTING_PARTIAL, true, true, 70, 1, false, 0},
         NULL},
        {"less help",
         {"bridge-street", "decide-last", SL_PROMPTING_NONE, true, true, 70, 1, false, 0},
         NULL},
        {"more help",
         {"bridge-street", "decide-last", SL_PROMPTING_FULL, true, true, 99, 0, false, 0},
         "helped"},
        {"partial where none",
         {"mill-lane", "decide-last", SL_PROMPTING_PARTIAL, true, true, 99, 0, false, 0},
         "helped"},
        {"cut short",
         {"bridge-street", "decide-last", SL_PROMPTING_NONE, false, true, 99, 0, false, 0},
         "to its end"},
        {"unmarked",
         {"bridge-street", "decide-last", SL_PROMPTING_NONE, true, false, 99, 0, false, 0},
         "not marked"},
        {"low",
         {"bridge-street", "decide-last", SL_PROMPTING_NONE, true, true, 69.9, 0, false, 0},
         "score"},
        {"faulty",
         {"bridge-street", "decide-last", SL_PROMPTING_NONE, true, true, 99, 2, false, 0},
         "faults"},
        {"elsewhere",
         {"station-road", "decide-last", SL_PROMPTING_NONE, true, true, 99, 0, false, 0},
         "not in the set"},
        {"another routine",
         {"mill-lane", "position-look", SL_PROMPTING_NONE, true, true, 99, 0, false, 0},
         "not in the set"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        const char *objection = sl_homework_objection(&set, &rows[i].run);
        bool right = rows[i].word == NULL
                         ? objection == NULL
                         : objection != NULL && strstr(objection, rows[i].word) != NULL;
        if (!right) {
            fail_msg("%s: %s", rows[i].name, objection == NULL ? "counts" : objection);
        }
    }
}

/* Mill Lane is rehearsed and driven; Bridge Street is only driven. */
static struct sl_homework_item kinds[] = {
    {.name = "mill-lane", .prompting = SL_PROMPTING_FULL, .runs = 1},
    {.name = "bridge-street", .prompting = SL_PROMPTING_NONE, .runs = 1, .drive = true},
    {.name = "mill-lane", .prompting = SL_PROMPTING_NONE, .runs = 2, .drive = true},
};

static void a_drive_and_a_rehearsal_do_not_stand_in_for_each_other(void **state)
{
    (void)state;
    struct sl_homework both = set;
    struct sl_homework_state done = {0};
    both.items = kinds;
    both.n_items = COUNT_OF(kinds);
    struct sl_homework_run run = good_run("mill-lane");
    assert_int_equal(sl_homework_item_of(&both, &run), 0);
    sl_homework_add(&done, &both, &run);
    run.driven = true;
    assert_int_equal(sl_homework_item_of(&both, &run), 2);
    sl_homework_add(&done, &both, &run);
    assert_int_equal(sl_homework_left(&both, &done, 0), 0);
    assert_int_equal(sl_homework_left(&both, &done, 2), 1);
    struct sl_homework_run plain = good_run("bridge-street");
    assert_non_null(strstr(sl_homework_objection(&both, &plain), "wants it driven"));
    assert_non_null(strstr(sl_homework_objection(&set, &run), "wants it rehearsed"));
    run.junction = "station-road";
    assert_non_null(strstr(sl_homework_objection(&both, &run), "not in the set"));
}

static void a_drive_counts_by_its_words_and_by_how_the_car_arrived(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        uint64_t came_of;
        double score;
        const char *word; /* of the objection; NULL: it counts */
    } rows[] = {
        {"as planned", 0, 70, NULL},
        {"a jolt is felt and no more", SL_CAME_OF(SL_JOLT) | SL_CAME_OF(SL_GEAR_LATE), 70, NULL},
        {"the last kind there is", SL_CAME_OF(SL_OVER_THE_LINE), 99, "step in"},
        {"into traffic, by good words", SL_CAME_OF(SL_WENT_INTO_TRAFFIC), 99, "step in"},
        {"stalled, and jerked before", SL_CAME_OF(SL_STALL) | SL_CAME_OF(SL_JOLT), 99, "step in"},
        {"arrived, by poor words", 0, 69, "score"},
    };
    struct sl_homework both = set;
    both.items = kinds;
    both.n_items = COUNT_OF(kinds);
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_homework_run run = good_run("bridge-street");
        run.driven = true;
        run.came_of = rows[i].came_of;
        run.score = rows[i].score;
        const char *objection = sl_homework_objection(&both, &run);
        bool right = rows[i].word == NULL
                         ? objection == NULL
                         : objection != NULL && strstr(objection, rows[i].word) != NULL;
        if (!right) {
            fail_msg("%s: %s", rows[i].name, objection == NULL ? "counts" : objection);
        }
    }
}

/* What was said there perhaps, and could not be made out, is not held against the learner. */
static void what_was_not_made_out_came_of_nothing(void **state)
{
    (void)state;
    struct sl_consequence told[] = {{.kind = SL_NEVER_SLOWED, .unclear = true},
                                    {.kind = SL_GEAR_LATE}};
    const struct sl_drive drive = {.consequences = told, .n_consequences = COUNT_OF(told)};
    assert_true(sl_drive_came_of(&drive) == SL_CAME_OF(SL_GEAR_LATE));
    assert_false(sl_came_of_danger(sl_drive_came_of(&drive)));
    told[0].unclear = false;
    assert_true(sl_came_of_danger(sl_drive_came_of(&drive)));
}

static void any_number_of_faults_is_fine_without_a_bound(void **state)
{
    (void)state;
    struct sl_homework unbounded = set;
    unbounded.most_faults = SL_HOMEWORK_ANY_FAULTS;
    struct sl_homework_run run = good_run("mill-lane");
    run.faults = 9;
    assert_null(sl_homework_objection(&unbounded, &run));
    assert_non_null(sl_homework_objection(&set, &run));
}

static void what_is_left_goes_down_with_runs_that_count_and_never_below_none(void **state)
{
    (void)state;
    struct sl_homework_state done = {0};
    struct sl_homework_run run = good_run("bridge-street");
    struct sl_homework_run poor = run;
    poor.score = 10;
    assert_int_equal(sl_homework_left_in_all(&set, &done), 3);
    sl_homework_add(&done, &set, &run);
    sl_homework_add(&done, &set, &poor);
    assert_int_equal(sl_homework_left(&set, &done, 0), 1);
    assert_int_equal(sl_homework_left(&set, &done, 1), 1);
    assert_int_equal(done.uncounted, 1);
    for (int i = 0; i < 4; i++) {
        sl_homework_add(&done, &set, &run);
    }
    assert_int_equal(sl_homework_left(&set, &done, 0), 0);
    assert_int_equal(sl_homework_left_in_all(&set, &done), 1); /* one junction cannot stand in */
}

static void only_days_of_the_calendar_are_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool right;
    } rows[] = {
        {"2026-03-14", true},  {"2024-02-29", true},   {"2000-02-29", true},  {"2026-12-31", true},
        {"2026-02-29", false}, {"2100-02-29", false},  {"2026-04-31", false}, {"2026-13-01", false},
        {"2026-00-10", false}, {"2026-01-00", false},  {"2026-1-1", false},   {"14-03-2026", false},
        {"2026/03/14", false}, {"2026-03-14 ", false}, {"1969-12-31", false}, {"2026-03-1a", false},
        {"", false},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_date date = {0};
        if (sl_date_parse(rows[i].text, &date) != rows[i].right) {
            fail_msg("%s", rows[i].text);
        }
        assert_true(rows[i].right || date.year == 0); /* untouched */
    }
}

/* Outside: seconds since the Epoch that `date -u -d DAY +%s` of GNU coreutils prints, over 86400.
 */
static void days_between_days_agree_with_the_epoch(void **state)
{
    (void)state;
    static const struct {
        struct sl_date day;
        long since_epoch;
    } rows[] = {
        {{1970, 1, 1}, 0},
        {{2000, 2, 29}, 951782400L / 86400},
        {{2000, 3, 1}, 951868800L / 86400},
        {{2026, 3, 14}, 1773446400L / 86400},
        {{2100, 3, 1}, 4107542400L / 86400},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        assert_int_equal(sl_date_days(rows[0].day, rows[i].day), rows[i].since_epoch);
        assert_int_equal(sl_date_days(rows[i].day, rows[0].day), -rows[i].since_epoch);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_counts_or_its_objection_is_named),
        cmocka_unit_test(a_drive_and_a_rehearsal_do_not_stand_in_for_each_other),
        cmocka_unit_test(a_drive_counts_by_its_words_and_by_how_the_car_arrived),
        cmocka_unit_test(what_was_not_made_out_came_of_nothing),
        cmocka_unit_test(any_number_of_faults_is_fine_without_a_bound),
        cmocka_unit_test(what_is_left_goes_down_with_runs_that_count_and_never_below_none),
        cmocka_unit_test(only_days_of_the_calendar_are_read),
        cmocka_unit_test(days_between_days_agree_with_the_epoch),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
