/*
 * Each single fault of the routine has its own consequence, by name.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/units.h"
#include "support/planned_words.h"

#include <math.h>
#include <string.h>

/* When a phase is said: so many seconds after one of its window's moments, or after that of another
 * phase. */
enum anchor { AT_DUE, AT_OPENING, AT_CLOSING };

/* What is said otherwise than planned. */
struct edit {
    const char *phase;    /* NULL: no more edits */
    bool missed, unnamed; /* not said; said without any setting */
    enum anchor anchor;
    double after_s;
    const char *of;              /* the phase whose window counts; NULL: its own */
    struct sl_settings settings; /* those named replace the right ones */
};

struct row {
    const char *routine, *junction;
    const char *consequence;
    struct edit edits[3];
    enum sl_traffic traffic;
};

#define MPH(figure) ((figure)*SL_MPS_PER_MPH)
#define LATE(name) .phase = (name), .anchor = AT_CLOSING
#define EARLY(name) .phase = (name), .anchor = AT_OPENING
#define DUE(name) .phase = (name), .anchor = AT_DUE

static const struct row rows[] = {
    {"decide-last", "t-left-open", "mirrors-unchecked", {{DUE("mirrors"), .missed = true}}, 0},
    {"decide-last",
     "t-left-open",
     "mirrors-late",
     {{LATE("mirrors"), .after_s = 0.4}, {DUE("signal"), .after_s = 1.2}},
     0},
    {"decide-last",
     "t-left-open",
     "mirrors-after-signal",
     {{DUE("mirrors"), .of = "signal", .after_s = 1.5}},
     0},
    {"decide-last",
     "t-left-open",
     "mirrors-after-slowing",
     {{DUE("mirrors"), .of = "speed", .after_s = 1}, {DUE("signal"), .missed = true}},
     0},
    {"decide-last",
     "t-left-open",
     "blind-side",
     {{DUE("mirrors"), .settings = {.mirrors = {SL_MIRROR_INTERIOR}, .n_mirrors = 1}}},
     0},
    {"decide-last",
     "t-left-open",
     "blind-side",
     {{DUE("mirrors"),
       .settings = {.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_RIGHT}, .n_mirrors = 2}}},
     0},
    {"decide-last",
     "t-left-open",
     "mirrors-swapped",
     {{DUE("mirrors"),
       .settings = {.mirrors = {SL_MIRROR_LEFT, SL_MIRROR_INTERIOR}, .n_mirrors = 2}}},
     0},
    {"decide-last", "t-left-open", "no-signal", {{DUE("signal"), .missed = true}}, 0},
    {"decide-last",
     "crossroads-ahead-open",
     "signal-not-thought-of",
     {{DUE("signal"), .missed = true}},
     0},
    {"decide-last",
     "t-left-open",
     "wrong-signal",
     {{DUE("signal"), .settings = {.signal = SL_SIGNAL_RIGHT}}},
     0},
    {"decide-last",
     "t-left-open",
     "wrong-signal",
     {{DUE("signal"), .settings = {.signal = SL_SIGNAL_NONE}}},
     0},
    {"decide-last",
     "crossroads-ahead-open",
     "wrong-signal",
     {{DUE("signal"), .settings = {.signal = SL_SIGNAL_LEFT}}},
     0},
    {"decide-last",
     "example-side-road-close-by",
     "misleading-signal",
     {{DUE("signal"), .settings = {.signal = SL_SIGNAL_LEFT}}},
     0},
    {"decide-last",
     "t-left-open",
     "early-signal",
     {{EARLY("signal"), .after_s = -2}, {EARLY("mirrors"), .after_s = 0.5}},
     0},
    {"decide-last",
     "t-left-open",
     "late-signal",
     {{LATE("signal"), .after_s = 0.3}, {DUE("speed"), .after_s = 1.3}},
     0},
    {"decide-last",
     "t-left-open",
     "signal-after-slowing",
     {{DUE("signal"), .of = "speed", .after_s = 2}},
     0},
    {"decide-last", "t-left-open", "never-slowed", {{DUE("speed"), .missed = true}}, 0},
    {"decide-last", "t-left-closed", "never-slowed", {{DUE("speed"), .missed = true}}, 0},
    {"decide-last", "t-left-open", "no-speed-named", {{DUE("speed"), .unnamed = true}}, 0},
    {"decide-last", "t-left-open", "slowed-early", {{EARLY("speed"), .after_s = -1}}, 0},
    {"decide-last",
     "t-left-open",
     "slowed-late",
     {{LATE("speed"), .after_s = 1}, {DUE("gear"), .after_s = 1.5}},
     0},
    {"decide-last",
     "t-left-closed",
     "too-fast",
     {{DUE("speed"), .settings = {.speed_mps = MPH(10)}}},
     0},
    {"decide-last",
     "t-left-open",
     "too-fast",
     {{DUE("speed"), .settings = {.speed_mps = MPH(20)}}},
     0},
    {"decide-last",
     "t-left-open",
     "too-slow",
     {{DUE("speed"), .settings = {.speed_mps = MPH(5)}}},
     0},
    {"decide-last",
     "t-left-open",
     "gear-before-speed",
     {{DUE("gear"), .of = "speed", .after_s = -1.5}},
     0},
    {"decide-last", "t-left-open", "gear-while-slowing", {{EARLY("gear"), .after_s = -1}}, 0},
    {"decide-last", "t-left-open", "gear-late", {{LATE("gear"), .after_s = 1}}, 0},
    {"decide-last", "t-left-closed", "gear-late", {{LATE("gear"), .after_s = 1}}, 0},
    {"decide-last", "t-left-open", "no-gear", {{DUE("gear"), .missed = true}}, 0},
    {"decide-last", "t-left-closed", "no-gear", {{DUE("gear"), .missed = true}}, 0},
    {"decide-last", "t-left-open", "wrong-gear", {{DUE("gear"), .settings = {.gear = 3}}}, 0},
    {"decide-last", "t-left-open", "judder", {{DUE("gear"), .settings = {.gear = 3}}}, 0},
    {"decide-last", "t-left-open", "stall", {{DUE("gear"), .settings = {.gear = 5}}}, 0},
    {"decide-last", "t-left-open", "jolt", {{DUE("gear"), .settings = {.gear = 1}}}, 0},
    {"decide-last",
     "t-left-open",
     "coasting",
     {{DUE("gear"), .settings = {.clutch = SL_CLUTCH_DOWN}}},
     0},
    {"decide-last",
     "t-left-closed",
     "clutch-up-at-line",
     {{DUE("gear"), .settings = {.clutch = SL_CLUTCH_UP}}},
     0},
    {"decide-last", "t-left-closed", "wrong-gear", {{DUE("gear"), .settings = {.gear = 2}}}, 0},
    {"decide-last", "t-left-open", "undecided", {{DUE("decide"), .missed = true}}, 0},
    {"decide-last", "t-left-closed", "undecided", {{DUE("decide"), .missed = true}}, 0},
    {"decide-last", "t-left-open", "decided-late", {{LATE("decide"), .after_s = 0.5}}, 0},
    {"decide-last", "t-left-closed", "decided-late", {{LATE("decide"), .after_s = 0.5}}, 0},
    {"decide-last", "t-left-open", "decided-early", {{EARLY("decide"), .after_s = -0.5}}, 0},
    {"decide-last", "t-left-closed", "decided-blind", {{DUE("decide"), .after_s = -3}}, 0},
    {"decide-last",
     "t-left-open",
     "decided-before-gear",
     {{DUE("decide"), .of = "gear", .after_s = -1}},
     0},
    {"decide-last",
     "t-left-open",
     "decided-before-speed",
     {{DUE("decide"), .of = "speed", .after_s = -1.5}},
     0},
    {"decide-last", "t-left-open", "went-into-traffic", {{DUE("decide")}}, SL_TRAFFIC_BUSY},
    {"decide-last",
     "t-left-open",
     "waited-for-nobody",
     {{DUE("decide"), .settings = {.decision = SL_DECISION_WAIT}}},
     SL_TRAFFIC_CLEAR},
    {"decide-last",
     "example-stop-line",
     "ran-stop-line",
     {{DUE("decide"), .settings = {.decision = SL_DECISION_GO}}},
     0},
    {"decide-last",
     "t-left-closed",
     "over-the-line",
     {{LATE("decide"), .after_s = -1, .settings = {.decision = SL_DECISION_WAIT}}},
     0},
    {"position-look", "t-left-open", "no-position", {{DUE("position"), .missed = true}}, 0},
    {"position-look",
     "t-left-open",
     "wrong-position",
     {{DUE("position"), .settings = {.position = SL_POSITION_RIGHT}}},
     0},
    {"position-look",
     "t-left-open",
     "moved-before-signal",
     {{DUE("position"), .of = "signal", .after_s = -0.6}},
     0},
    {"position-look",
     "t-left-open",
     "early-position",
     {{EARLY("position"), .after_s = -1}, {EARLY("signal")}, {EARLY("mirrors"), .after_s = 0.5}},
     0},
    {"position-look",
     "t-left-open",
     "late-position",
     {{LATE("position"), .after_s = 0.5}, {DUE("speed"), .after_s = 1.2}},
     0},
    {"position-look", "t-left-open", "never-slowed", {{DUE("speed"), .missed = true}}, 0},
    {"position-look", "t-left-open", "wrong-gear", {{DUE("speed"), .settings = {.gear = 3}}}, 0},
    {"position-look", "t-left-open", "slowed-late", {{LATE("speed"), .after_s = 2}}, 0},
    {"position-look",
     "t-left-open",
     "decided-before-speed",
     {{DUE("look"), .of = "speed", .after_s = -1}},
     0},
};

static double anchor_s(const struct planned *planned, const struct edit *edit)
{
    const char *name = edit->of != NULL ? edit->of : edit->phase;
    size_t phase = sl_routine_phase(&planned->routine, name);
    assert_true(phase < planned->routine.n_phases);
    const struct sl_window *window = &planned->plan.windows[phase];
    return (edit->anchor == AT_DUE       ? window->due_s
            : edit->anchor == AT_OPENING ? window->opens_s
                                         : window->closes_s) +
           edit->after_s;
}

static const struct edit *edit_of(const struct row *row, const char *phase)
{
    for (size_t i = 0; i < 3; i++) {
        if (row->edits[i].phase != NULL && strcmp(row->edits[i].phase, phase) == 0) {
            return &row->edits[i];
        }
    }
    return NULL;
}

static int by_start(const void *a, const void *b)
{
    double first = ((const struct sl_heard *)a)->start_s;
    double second = ((const struct sl_heard *)b)->start_s;
    return (first > second) - (first < second);
}

/* The planned words with the row's edits. */
static void say(struct planned *planned, const struct row *row)
{
    for (size_t i = 0; i < planned->routine.n_phases; i++) {
        const struct edit *edit = edit_of(row, planned->routine.phases[i].id);
        struct sl_settings settings = planned_right(planned, i);
        double at_s = planned->plan.windows[i].due_s;
        if (edit != NULL) {
            if (edit->unnamed || edit->settings.n_mirrors > 0) {
                memset(&settings, 0, sizeof settings);
            }
            sl_settings_merge(&settings, &edit->settings);
            at_s = anchor_s(planned, edit);
        }
        if (edit == NULL || !edit->missed) {
            planned_say(planned, i, at_s, &settings);
        }
    }
    qsort(planned->words.items, planned->words.count, sizeof *planned->words.items, by_start);
}

static bool names(const struct sl_drive *drive, const char *consequence)
{
    for (size_t i = 0; i < drive->n_consequences; i++) {
        if (strcmp(sl_consequence_word(drive->consequences[i].kind), consequence) == 0) {
            return true;
        }
    }
    return false;
}

/* True when the row's words, spoken in this car, have the row's consequence. */
static bool has_its_consequence(const struct row *row, const char *car)
{
    struct planned planned;
    struct sl_drive drive = {0};
    assert_true(planned_load(&planned, row->junction, row->routine, car));
    say(&planned, row);
    planned.junction.traffic =
        row->traffic != SL_TRAFFIC_ANY ? row->traffic : planned.junction.traffic;
    assert_int_equal(sl_drive_make(&planned.driving, &drive, NULL), SL_OK);
    bool named = names(&drive, row->consequence);
    char *came = drive_words(&drive);
    if (!named) {
        print_error("%s, %s: not %s but %s\n", row->junction, car, row->consequence, came);
    }
    for (size_t j = 0; j < drive.n_consequences; j++) {
        assert_non_null(drive.consequences[j].what);
        assert_non_null(drive.consequences[j].reason);
        assert_true(drive.consequences[j].phase < planned.routine.n_phases);
    }
    free(came);
    sl_drive_clear(&drive);
    planned_clear(&planned);
    return named;
}

static void each_single_fault_has_its_own_consequence(void **state)
{
    static const char *const cars[] = {"small-petrol", "city-car", "family-diesel"};
    size_t wrong = 0;
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (size_t car = 0; car < sizeof cars / sizeof *cars; car++) {
            wrong += has_its_consequence(&rows[i], cars[car]) ? 0 : 1;
        }
    }
    assert_int_equal(wrong, 0);
}

/* A change helps where there is one fault, and there is none to make in planned words. */
static void one_change_puts_a_single_fault_right(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct planned planned;
        struct sl_drive drive = {0};
        struct sl_drive_change change;
        assert_true(planned_load(&planned, rows[i].junction, rows[i].routine, "small-petrol"));
        say(&planned, &rows[i]);
        planned.junction.traffic =
            rows[i].traffic != SL_TRAFFIC_ANY ? rows[i].traffic : planned.junction.traffic;
        assert_int_equal(sl_drive_make(&planned.driving, &drive, NULL), SL_OK);
        assert_int_equal(sl_drive_one_change(&planned.driving, &drive, &change, NULL), SL_OK);
        assert_true(change.found);
        assert_true(change.n_consequences < drive.n_consequences);
        sl_drive_clear(&drive);
        planned_clear(&planned);
    }
    struct planned planned;
    struct sl_drive drive = {0};
    struct sl_drive_change change = {.found = true};
    assert_true(planned_load(&planned, "t-left-open", "decide-last", "small-petrol"));
    planned_say_all(&planned);
    assert_int_equal(sl_drive_make(&planned.driving, &drive, NULL), SL_OK);
    assert_int_equal(sl_drive_one_change(&planned.driving, &drive, &change, NULL), SL_OK);
    assert_false(change.found);
    sl_drive_clear(&drive);
    planned_clear(&planned);
}

/* Every name but those that come along with others: a row of the table for each. */
static void every_consequence_is_in_the_table(void **state)
{
    (void)state;
    for (int kind = 0; kind < SL_CONSEQUENCE_COUNT; kind++) {
        const char *word = sl_consequence_word((enum sl_consequence_kind)kind);
        bool found = false;
        for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
            found = found || strcmp(rows[i].consequence, word) == 0;
        }
        if (!found) {
            fail_msg("%s is in no row", word);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_single_fault_has_its_own_consequence),
        cmocka_unit_test(one_change_puts_a_single_fault_right),
        cmocka_unit_test(every_consequence_is_in_the_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
