#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/marked_run.h"

struct row {
    const char *name;
    bool timed;
    enum where where;
    const char *script;
    const char *faults;
};

static void check_rows(const struct row *rows, size_t n_rows)
{
    for (size_t i = 0; i < n_rows; i++) {
        struct run run = mark(rows[i].script, rows[i].timed, rows[i].where);
        char *faults = script_faults(&run.routine, &run.mark);
        if (strcmp(faults, rows[i].faults) != 0) {
            print_error("%s\n  wanted: %s\n  marked: %s\n", rows[i].name, rows[i].faults, faults);
        }
        assert_string_equal(faults, rows[i].faults);
        free(faults);
        end_run(&run);
    }
}

#define CHECK_ROWS(rows) check_rows(rows, sizeof(rows) / sizeof *(rows))

static const struct row missing[] = {
    {"a clean run", true, T_LEFT, CLEAN, ""},
    {"a clean run, untimed", false, T_LEFT, CLEAN, ""},
    {"fillers and words of correction alone change nothing", true, T_LEFT,
     "um @1; mirrors interior left @4; um; signal left @8; no @10; speed 10 @12; gear 2 up "
     "@16; "
     "um @20; decide go @24; no @26",
     ""},
    {"nothing heard", true, T_LEFT, "",
     "mirrors missed, signal missed, speed missed, gear missed, decide missed"},
    {"only fillers", false, T_LEFT, "um @1; um @5; no @6",
     "mirrors missed, signal missed, speed missed, gear missed, decide missed"},
    {"mirrors missed", true, T_LEFT, "signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors missed"},
    {"the last missed", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16", "decide missed"},
    {"two missed", true, T_LEFT, "mirrors interior left @4; speed 10 @12; decide go @24",
     "signal missed, gear missed"},
    {"one unclear", true, T_LEFT,
     "mirrors interior left @4; ?signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "signal unclear"},
    {"unclear out of its place is unclear, not out of order", true, T_LEFT,
     "mirrors interior left @4; signal left @8; ?decide go @10; speed 10 @12; gear 2 up @16",
     "decide unclear"},
    {"unclear twice is one fault", true, T_LEFT,
     "mirrors interior left @4; ?signal left @8; ?signal right @9; speed 10 @12; gear 2 up "
     "@16; "
     "decide go @24",
     "signal unclear"},
    {"unclear beside clear is ignored", true, T_LEFT, "?gear 1 down @2; " CLEAN, ""},
    {"unclear settings never overrule clear ones", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; ?gear 1 down @18; "
     "decide go @24",
     ""},
    {"unclear after a clear wrong one does not mend it", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 1 up @16; no @17.1; "
     "?gear 2 @18; decide go @24",
     "gear wrong-setting"},
    {"everything unclear", false, T_LEFT,
     "?mirrors; ?signal left; ?speed 10; ?gear 2 up; ?decide go",
     "mirrors unclear, signal unclear, speed unclear, gear unclear, decide unclear"},
    {"ahead: no signal need be mentioned", true, AHEAD,
     "mirrors interior @4; speed 10 @12; gear 2 up @16; decide go @24", ""},
    {"ahead: a signal unclear is no fault either", true, AHEAD,
     "mirrors interior @4; ?signal none @8; speed 10 @12; gear 2 up @16; decide go @24", ""},
    {"ahead: saying no signal is right", true, AHEAD,
     "mirrors interior @4; signal none @8; speed 10 @12; gear 2 up @16; decide go @24", ""},
    {"ahead: a signal is wrong", true, AHEAD,
     "mirrors interior @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "signal wrong-setting"},
    {"a signal that would mislead must be mentioned", true, LEFT_MISLEADS,
     "mirrors interior left @4; speed 10 @12; gear 2 up @16; decide go @24", "signal missed"},
    {"a signal that would mislead ahead must be mentioned, too", true, AHEAD_MISLEADS,
     "mirrors interior @4; speed 10 @12; gear 2 up @16; decide go @24", "signal missed"},
};

static void steps_missed_or_unclear_are_told_apart(void **state)
{
    (void)state;
    CHECK_ROWS(missing);
}

static const struct row disordered[] = {
    {"signal before mirrors", false, T_LEFT,
     "signal left; mirrors interior left; speed 10; gear 2 up; decide go",
     "signal out-of-order signal-after-mirrors"},
    {"speed before signal breaks no rule: the one that jumped ahead", false, T_LEFT,
     "mirrors interior left; speed 10; signal left; gear 2 up; decide go", "speed out-of-order"},
    {"gear before speed", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up; speed 10; decide go",
     "gear out-of-order gear-after-speed"},
    {"decide before gear", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; decide go; gear 2 up",
     "decide out-of-order decide-after-gear"},
    {"decide first of all", false, T_LEFT,
     "decide go; mirrors interior left; signal left; speed 10; gear 2 up",
     "decide out-of-order decide-after-gear"},
    {"mirrors last of all", false, T_LEFT,
     "signal left; speed 10; gear 2 up; decide go; mirrors interior left",
     "mirrors out-of-order signal-after-mirrors"},
    {"speed after the decision", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up; decide go; speed 10",
     "speed out-of-order gear-after-speed"},
    {"two swaps are two faults", false, T_LEFT,
     "signal left; mirrors interior left; gear 2 up; speed 10; decide go",
     "signal out-of-order signal-after-mirrors, gear out-of-order gear-after-speed"},
    {"three turned round", false, T_LEFT,
     "mirrors interior left; signal left; decide go; gear 2 up; speed 10",
     "gear out-of-order gear-after-speed, decide out-of-order decide-after-gear"},
    {"everything turned round", false, T_LEFT,
     "decide go; gear 2 up; speed 10; signal left; mirrors interior left",
     "signal out-of-order signal-after-mirrors, speed out-of-order, "
     "gear out-of-order gear-after-speed, decide out-of-order decide-after-gear"},
    {"a rule about a phase that was not heard is not broken", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up; decide go", "speed missed"},
    {"a step out of order is not also early or late", true, T_LEFT,
     "mirrors interior left @4; signal left @8; gear 2 up @11; speed 10 @16; decide go @24",
     "speed late, gear out-of-order gear-after-speed"},
    {"out of order and wrong are two causes", false, T_LEFT,
     "mirrors interior left; signal left; gear 1 up; speed 10; decide go",
     "gear out-of-order gear-after-speed, gear wrong-setting"},
    {"with one missed", false, T_LEFT, "signal left; mirrors interior left; gear 2 up; decide go",
     "signal out-of-order signal-after-mirrors, speed missed"},
};

static void steps_out_of_order_are_the_smallest_set_of_moved_ones(void **state)
{
    (void)state;
    CHECK_ROWS(disordered);
}

static const struct row repeated[] = {
    {"the same twice running is a repeat", false, T_LEFT,
     "mirrors interior left; signal left; signal left; speed 10; gear 2 up; gear 2; decide go", ""},
    {"again after another step", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; signal left; gear 2 up; decide go",
     "signal extra"},
    {"again with another setting is still extra", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; signal right; gear 2 up; decide go",
     "signal extra"},
    {"twice extra", false, T_LEFT,
     "mirrors interior left; signal left; mirrors interior left; speed 10; mirrors interior "
     "left; gear 2 up; decide go",
     "mirrors extra, mirrors extra"},
    {"said too soon, then in its place: the one in its place counts", false, T_LEFT,
     "gear 1; mirrors interior left; signal left; speed 10; gear 2 up; decide go", "gear extra"},
    {"out of order twice: one moved, one extra", false, T_LEFT,
     "decide go; mirrors interior left; decide go; signal left; speed 10; gear 2 up",
     "decide out-of-order decide-after-gear, decide extra"},
    {"the timely one counts", true, T_LEFT,
     "mirrors interior @1; um; signal left @8; speed 10 @12; gear 2 up @16; decide go @18; "
     "mirrors left @20; decide go @24",
     "mirrors wrong-setting, mirrors early, mirrors extra, decide extra"},
};

static void steps_said_again_are_extra(void **state)
{
    (void)state;
    CHECK_ROWS(repeated);
}

#define SO_FAR "mirrors interior left @4; signal left @8; "
static const struct row named[] = {
    {"wrong side", true, T_LEFT,
     "mirrors interior left @4; signal right @8; speed 10 @12; gear 2 up @16; decide go @24",
     "signal wrong-setting"},
    {"a signal that misleads", true, LEFT_MISLEADS, CLEAN, "signal wrong-setting"},
    {"gear", true, T_LEFT, SO_FAR "speed 10 @12; gear 1 up @16; decide go @24",
     "gear wrong-setting"},
    {"gear and clutch wrong are one fault", true, T_LEFT,
     SO_FAR "speed 10 @12; gear 1 down @16; decide go @24", "gear wrong-setting"},
    {"clutch alone", true, T_LEFT, SO_FAR "speed 10 @12; gear 2 down @16; decide go @24",
     "gear wrong-setting"},
    {"unsaid clutch is no fault", true, T_LEFT, SO_FAR "speed 10 @12; gear 2 @16; decide go @24",
     ""},
    {"speed at the lower end", true, T_LEFT, SO_FAR "speed 8 @12; gear 2 up @16; decide go @24",
     ""},
    {"speed at the upper end", true, T_LEFT, SO_FAR "speed 12 @12; gear 2 up @16; decide go @24",
     ""},
    {"speed above", true, T_LEFT, SO_FAR "speed 12.1 @12; gear 2 up @16; decide go @24",
     "speed wrong-setting"},
    {"speed below", true, T_LEFT, SO_FAR "speed 7.9 @12; gear 2 up @16; decide go @24",
     "speed wrong-setting"},
    {"no speed named", true, T_LEFT, SO_FAR "speed @12; gear 2 up @16; decide go @24", ""},
    {"closed wants its own", true, CLOSED, CLEAN, "speed wrong-setting, gear wrong-setting"},
    {"closed settings where it is closed", true, CLOSED,
     SO_FAR "speed 4 @12; gear 1 down @16; decide wait @24", ""},
    {"a stop line means waiting", true, STOP_LINE,
     SO_FAR "speed 4 @12; gear 1 down @16; decide go @24", "decide wrong-setting"},
    {"waiting is right where nothing is wanted", true, T_LEFT,
     SO_FAR "speed 10 @12; gear 2 up @16; decide wait @24", ""},
    {"busy: go is wrong", true, BUSY, CLEAN, "decide wrong-setting"},
    {"clear: waiting is wrong", true, CLEAR, SO_FAR "speed 10 @12; gear 2 up @16; decide wait @24",
     "decide wrong-setting"},
    {"a wanted mirror lacking", true, T_LEFT,
     "mirrors left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors wrong-setting"},
    {"the other door mirror", true, T_LEFT,
     "mirrors interior right @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors wrong-setting"},
    {"a mirror more is fine", true, T_LEFT,
     "mirrors interior left right @4; signal left @8; speed 10 @12; gear 2 up @16; decide go "
     "@24",
     ""},
    {"a mirror more between is fine", true, T_LEFT,
     "mirrors interior right left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go "
     "@24",
     ""},
    {"generic mirrors are no fault", true, T_LEFT,
     "mirrors @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24", ""},
    {"mirrors in two phrases are joined", true, T_LEFT,
     "mirrors interior @4-5; um; mirrors left @5.5; signal left @8; speed 10 @12; gear 2 up "
     "@16; decide go @24",
     ""},
    {"gear and clutch in two phrases are joined", true, T_LEFT,
     SO_FAR "speed 10 @12; gear 2 @16; um; gear up @18; decide go @24", ""},
    {"door mirror first breaks the mirror order", true, T_LEFT,
     "mirrors left interior @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors out-of-order interior-first"},
};

static void settings_are_held_against_the_junction(void **state)
{
    (void)state;
    CHECK_ROWS(named);
}

static const struct row clocked[] = {
    {"at the very ends of the windows", true, T_LEFT,
     "mirrors interior left @2; signal left @10; speed 10 @10.5; gear 2 up @18; decide go @22", ""},
    {"mirrors early", true, T_LEFT,
     "mirrors interior left @1.9; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors early"},
    {"mirrors late", true, T_LEFT,
     "mirrors interior left @6.1; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "mirrors late"},
    {"times count for nothing untimed", false, T_LEFT,
     "mirrors interior left @30; signal left @31.5; speed 10 @33; gear 2 up @35; decide go @36",
     ""},
    {"everything late but for the rule on rolling", true, T_LEFT,
     "mirrors interior left @7; signal left @11; speed 10 @15; gear 2 up @19-20; decide go "
     "@26.5",
     "mirrors late, signal late, speed late, gear late, decide late"},
    {"too little rolling left takes the place of late", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22.1-22.6; decide go "
     "@24",
     "gear late rolling"},
    {"too little rolling left though the step began in time", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 @17-18; gear up @21-23.1; "
     "decide go @24",
     "gear late rolling"},
    {"just enough rolling left", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 @17-18; gear up @21-23; "
     "decide go @24",
     ""},
    {"just enough rolling left after a late change", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22-22.5; decide go "
     "@24",
     "gear late"},
    {"go before the road can be seen", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @21",
     "decide early look-first"},
    {"waiting before the road can be seen is merely early", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide wait @21",
     "decide early"},
    {"go as soon as the rule allows", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @22", ""},
};

static void times_are_held_against_the_windows(void **state)
{
    (void)state;
    CHECK_ROWS(clocked);
}

struct correction {
    const char *name;
    bool timed, corrected;
    size_t phase;
    const char *script;
    const char *faults;
    const char *first_said, *said;
};

#define GEAR_NEXT "mirrors interior left @4; signal left @8; speed 10 @12; "
static const struct correction corrections[] = {
    {"first, no, second", true, true, GEAR,
     GEAR_NEXT "gear 1 @15-16; no; gear 2 @17; decide go @24", "", "first gear", "second gear"},
    {"without a word of correction", true, true, GEAR,
     GEAR_NEXT "gear 1 @15-16; gear 2 up @17; decide go @24", "", "first gear",
     "second gear, clutch up"},
    {"an unclear word of correction is as none", true, true, GEAR,
     GEAR_NEXT "gear 1 @15-16; ?no; gear 2 up @17; decide go @24", "", "first gear",
     "second gear, clutch up"},
    {"right, then wrong: the later counts", true, true, GEAR,
     GEAR_NEXT "gear 2 @15-16; no; gear 1 @17; decide go @24", "gear wrong-setting", "second gear",
     "first gear"},
    {"twice corrected keeps what was said first", true, true, GEAR,
     GEAR_NEXT "gear 1 @15-16; no; gear 2; gear down; no; gear up @19; decide go @24", "",
     "first gear, clutch down", "second gear, clutch up"},
    {"a repeat is no correction", true, false, GEAR,
     GEAR_NEXT "gear 2 up @15-16; no; gear 2 @17; decide go @24", "", "", "second gear, clutch up"},
    {"speed said again nearly the same is no correction", true, false, SPEED,
     "mirrors interior left @4; signal left @8; speed 10 @12; speed 10.00001; gear 2 up @16; "
     "decide go @24",
     "", "", "10 mph"},
    {"left, no, right mirror replaces", false, true, MIRRORS,
     "mirrors left; no; mirrors right; signal left; speed 10; gear 2; decide go",
     "mirrors wrong-setting", "left mirror", "right mirror"},
    {"the interior mirror stays when a door mirror is put right", false, true, MIRRORS,
     "mirrors interior right; no; mirrors left; signal left; speed 10; gear 2; decide go", "",
     "interior and right mirror", "interior and left mirror"},
    {"a whole set anew replaces the whole set", false, true, MIRRORS,
     "mirrors left interior; no; mirrors interior left; signal left; speed 10; gear 2; decide "
     "go",
     "", "left and interior mirror", "interior and left mirror"},
    {"a word of correction before a further mirror only adds it", false, false, MIRRORS,
     "mirrors; no; mirrors interior left; signal left; speed 10; gear 2; decide go", "", "",
     "interior and left mirror"},
    {"mirrors without a word of correction are joined", false, false, MIRRORS,
     "mirrors right; mirrors interior; mirrors left; signal left; speed 10; gear 2; decide go", "",
     "", "right, interior and left mirror"},
    {"a word of correction holds for one phrase only", false, true, MIRRORS,
     "mirrors right; no; mirrors interior; mirrors left; signal left; speed 10; gear 2; decide "
     "go",
     "", "right mirror", "interior and left mirror"},
    {"too late once the next phase has begun, untimed", false, false, GEAR,
     "mirrors interior left; signal left; speed 10; gear 1 up; decide go; no; gear 2",
     "gear wrong-setting, gear extra", "", "first gear, clutch up"},
    {"inside its window it is still in time", true, true, SIGNAL,
     "mirrors interior left @4; signal right @7-7.5; speed 10 @8.5-9; no; signal left @9.9; "
     "gear 2 up @16; decide go @24",
     "speed early", "signal right", "signal left"},
    {"past its window it is too late", true, false, SIGNAL,
     "mirrors interior left @4; signal right @8; speed 10 @11-12; no; signal left @13; "
     "gear 2 up @16; decide go @24",
     "signal wrong-setting, signal extra", "", "signal right"},
    {"inside its window but without a word of correction it is another step", true, false, SIGNAL,
     "mirrors interior left @4; signal right @7-7.5; speed 10 @8.5-9; signal left @9.9; "
     "speed 10 @12; gear 2 up @16; decide go @24",
     "signal wrong-setting, signal extra, speed extra", "", "signal right"},
    {"a late correction that changes nothing is said once more", true, false, SIGNAL,
     "mirrors interior left @4; signal left @7-7.5; speed 10 @10-10.1; no @10.2-10.3; "
     "signal left @10; gear 2 up @16; decide go @24",
     "signal extra", "", "signal left"},
    {"a late correction may complete what was named", true, true, MIRRORS,
     "mirrors @3-3.5; signal left @6-6.1; no; mirrors interior left @6; speed 10 @12; gear 2 "
     "up @16; decide go @24",
     "", "", "interior and left mirror"},
    {"after a late correction both steps go on", true, true, MIRRORS,
     "mirrors interior right @4-4.2; signal left @6-6.1; no @5.5-5.6; mirrors left @5.8-5.9; "
     "mirrors interior @5.95-5.97; signal left @6.3; speed 10 @12; gear 2 up @16; decide go "
     "@24",
     "", "interior and right mirror", "interior and left mirror"},
    {"settings that the phase does not carry are left out", true, false, GEAR, CLEAN, "", "",
     "second gear, clutch up"},
};

static void corrections_count_when_they_come_in_time(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof corrections / sizeof *corrections; i++) {
        struct run run = mark(corrections[i].script, corrections[i].timed, T_LEFT);
        const struct sl_phase_mark *phase = &run.mark.phases[corrections[i].phase];
        char *faults = script_faults(&run.routine, &run.mark);
        char *first_said = sl_settings_words(&phase->first_said);
        char *said = sl_settings_words(&phase->said);
        if (strcmp(faults, corrections[i].faults) != 0 ||
            strcmp(first_said, corrections[i].first_said) != 0 ||
            strcmp(said, corrections[i].said) != 0 ||
            phase->corrected != corrections[i].corrected) {
            print_error("%s\n  faults %s\n  first said %s, said %s\n", corrections[i].name, faults,
                        first_said, said);
        }
        assert_string_equal(faults, corrections[i].faults);
        assert_string_equal(first_said, corrections[i].first_said);
        assert_string_equal(said, corrections[i].said);
        assert_int_equal(phase->corrected, corrections[i].corrected);
        free(faults);
        free(first_said);
        free(said);
        end_run(&run);
    }
}

struct wording {
    const char *name;
    bool timed;
    enum where where;
    const char *script;
    const char *what, *reason;
};

/* The first fault of each run, in words. */
static const struct wording wordings[] = {
    {"missed, timed, with a reason of its own", true, T_LEFT,
     "signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "The mirrors step was not heard; this junction wants interior and left mirror; it was due "
     "at 4.0 s, 120 m before the line.",
     "You must know who is behind you."},
    {"missed, untimed, nothing wanted", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; gear 2 up", "The decide step was not heard.",
     "General reason for missed."},
    {"unclear", false, T_LEFT,
     "mirrors interior left; ?signal left @3.2; ; speed 10; gear 2 up; decide go",
     "Something like \"signal left\" was heard at 3.2 s, not clearly enough to count as the "
     "signal step.",
     "General reason for unclear."},
    {"out of order", false, T_LEFT,
     "mirrors interior left; signal left; gear 2 up @5; speed 10 @7.5; decide go",
     "The gear step came at 5.0 s, 2.5 s before the speed step; it belongs after it.",
     "Text of gear-after-speed. Reason of gear-after-speed."},
    {"out of order without a rule", false, T_LEFT,
     "mirrors interior left; speed 10 @5; signal left @9; gear 2 up; decide go",
     "The speed step came at 5.0 s, 4.0 s before the signal step; it belongs after it.",
     "General reason for out-of-order."},
    {"overtaken", false, T_LEFT,
     "mirrors interior left; speed 10 @5; gear 2 up @6.5; decide go @9; signal left @11",
     "The signal step came at 11.0 s, 6.0 s after the speed step; it belongs before it.",
     "General reason for out-of-order."},
    {"wrong settings", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 1 down @16; decide go @24",
     "At 16.0 s you said first gear, clutch down; this junction wants second gear, clutch up.",
     "General reason for wrong-setting."},
    {"wrong speed", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 20 @12; gear 2 @16; decide go @24",
     "At 12.0 s you said 20 mph; this junction wants 10 mph (8 to 12 mph counts as right).",
     "General reason for wrong-setting."},
    {"mirror order", true, T_LEFT,
     "mirrors left interior @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "At 4.0 s you said left and interior mirror; the order here is interior and left mirror.",
     "Text of interior-first. Reason of interior-first."},
    {"early", true, T_LEFT,
     "mirrors interior left @0.5; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "The mirrors step came at 0.5 s, 1.5 s too early; it was due at 4.0 s, 120 m before the "
     "line, and from 2.0 to 6.0 s is right.",
     "General reason for early."},
    {"late", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @14.4; gear 2 up @16; decide go @24",
     "The speed step came at 14.4 s, 0.4 s too late; it was due at 12.0 s, 80 m before the "
     "line, and from 10.0 to 14.0 s is right.",
     "General reason for late."},
    {"rolling", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @22-25; decide go "
     "@25.5",
     "The gear step was done at 25.0 s, which leaves 3.0 s of rolling before the line; at "
     "least "
     "5.0 s are wanted, and it was due at 16.0 s, 60 m before the line.",
     "Text of rolling. Reason of rolling."},
    {"look first", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @20",
     "The decide step said go at 20.0 s, 3.0 s before enough of the road can be seen; it was "
     "due at 24.0 s, 20 m before the line.",
     "Text of look-first. Reason of look-first."},
    {"extra", false, T_LEFT,
     "mirrors interior left; signal left @3; speed 10; signal right @6; gear 2; decide go",
     "The signal step was said once more (signal right) at 6.0 s; the one at 3.0 s counts.",
     "General reason for extra."},
    {"extra, nothing named", false, T_LEFT,
     "mirrors interior left @1; signal left @3; mirrors @6; speed 10; gear 2; decide go",
     "The mirrors step was said once more at 6.0 s; the one at 1.0 s counts.",
     "General reason for extra."},
};

static void faults_say_what_happened_in_figures(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof wordings / sizeof *wordings; i++) {
        struct run run = mark(wordings[i].script, wordings[i].timed, wordings[i].where);
        assert_int_not_equal(run.mark.n_faults, 0);
        assert_string_equal(run.mark.faults[0].what, wordings[i].what);
        assert_string_equal(run.mark.faults[0].reason, wordings[i].reason);
        end_run(&run);
    }
}

static void a_phase_due_at_the_line_is_said_so(void **state)
{
    (void)state;
    struct run run = {
        .routine = fixture_routine(), .junction = fixture_junction(), .plan = fixture_plan()};
    run.plan.windows[DECIDE].due_m = 0;
    const struct sl_heard_list nothing = {0};
    const struct sl_mark_options options = {.timed = true};
    assert_int_equal(
        sl_mark_make(&run.routine, &run.junction, &run.plan, &nothing, &options, &run.mark, NULL),
        SL_OK);
    assert_int_equal(run.mark.n_faults, FIXTURE_PHASES);
    assert_string_equal(run.mark.faults[FIXTURE_PHASES - 1].what,
                        "The decide step was not heard; it was due at 24.0 s, at the line.");
    end_run(&run);
}

static void faults_and_phases_carry_their_times(void **state)
{
    (void)state;
    struct run run =
        mark("mirrors interior left @4-5; signal left @11-12; speed 10 @12.5-13; gear 2 "
             "@16-17; gear up @18-19.5",
             true, T_LEFT);
    assert_int_equal(run.mark.n_phases, FIXTURE_PHASES);
    assert_true(run.mark.timed);
    assert_int_equal(run.mark.n_faults, 2);
    assert_float_equal(run.mark.faults[0].at_s, 11, 0);
    assert_float_equal(run.mark.faults[0].due_s, 8, 0);
    assert_true(isnan(run.mark.faults[1].at_s));
    assert_float_equal(run.mark.faults[1].due_s, 24, 0);
    assert_true(run.mark.phases[GEAR].heard);
    assert_float_equal(run.mark.phases[GEAR].at_s, 16, 0);
    assert_float_equal(run.mark.phases[GEAR].end_s, 19.5, 0);
    assert_int_equal(run.mark.phases[GEAR].wanted.settings.gear, 2);
    assert_false(run.mark.phases[DECIDE].heard);
    assert_true(isnan(run.mark.phases[DECIDE].at_s));
    end_run(&run);

    run = mark("mirrors interior left; signal left; speed 10; gear 2; ?decide go", false, T_LEFT);
    assert_false(run.mark.timed);
    assert_true(run.mark.phases[DECIDE].unclear);
    assert_false(run.mark.phases[DECIDE].heard);
    assert_true(isnan(run.mark.faults[0].due_s));
    assert_true(run.mark.faults[0].at_s > 0);
    end_run(&run);
}

static void what_ends_before_the_announcement_is_not_looked_at(void **state)
{
    (void)state;
    static const char script[] = "decide go @3-4; signal right @9-9.9; mirrors interior left @14; "
                                 "signal left @18; speed 10 @22; gear 2 up @26; decide go @34";
    struct run run = mark_from(script, true, T_LEFT, 10);
    assert_int_equal(run.mark.n_faults, 0);
    assert_float_equal(run.mark.phases[MIRRORS].at_s, 4, 1e-9);
    end_run(&run);
}

static void the_clearest_of_unclear_phrases_is_told(void **state)
{
    (void)state;
    struct run run = {
        .routine = fixture_routine(), .junction = fixture_junction(), .plan = fixture_plan()};
    struct sl_heard_list heard = {0};
    static const double confidences[] = {0.2, 0.4, 0.4};
    for (size_t i = 0; i < 3; i++) {
        struct sl_heard item = {.phase = GEAR,
                                .start_s = (double)i,
                                .end_s = (double)i + 0.5,
                                .confidence = confidences[i],
                                .unclear = true};
        assert_int_equal(sl_heard_add(&heard, &item, NULL), SL_OK);
    }
    const struct sl_mark_options options = {0};
    assert_int_equal(
        sl_mark_make(&run.routine, &run.junction, &run.plan, &heard, &options, &run.mark, NULL),
        SL_OK);
    assert_int_equal(run.mark.faults[GEAR].kind, SL_FAULT_UNCLEAR);
    assert_float_equal(run.mark.faults[GEAR].at_s, 1, 0);
    sl_heard_clear(&heard);
    end_run(&run);
}

static void phrases_of_no_phase_of_the_routine_are_passed_over(void **state)
{
    (void)state;
    struct run run = mark("cornering 5 @1; " CLEAN, true, T_LEFT);
    assert_int_equal(run.mark.n_faults, 0);
    end_run(&run);
}

/* A routine whose rule goes against its own order: the rule still gets its fault, once. */
static void a_rule_against_the_order_still_gets_its_fault(void **state)
{
    (void)state;
    struct run run = {
        .routine = fixture_routine(), .junction = fixture_junction(), .plan = fixture_plan()};
    run.routine.rules[0].phase = MIRRORS;
    run.routine.rules[0].other = SIGNAL;
    struct sl_heard_list heard = script_heard(&run.routine, CLEAN);
    const struct sl_mark_options options = {.timed = true};
    assert_int_equal(
        sl_mark_make(&run.routine, &run.junction, &run.plan, &heard, &options, &run.mark, NULL),
        SL_OK);
    char *faults = script_faults(&run.routine, &run.mark);
    assert_string_equal(faults, "mirrors out-of-order signal-after-mirrors");
    assert_float_equal(run.mark.scores.order, 100.0 * 10 / 11, 1e-4);
    free(faults);
    sl_heard_clear(&heard);
    end_run(&run);
}

static void marking_again_releases_the_earlier_mark(void **state)
{
    (void)state;
    struct run run = mark("signal left", false, T_LEFT);
    struct sl_heard_list heard = script_heard(&run.routine, CLEAN);
    const struct sl_mark_options options = {.timed = true};
    assert_int_equal(
        sl_mark_make(&run.routine, &run.junction, &run.plan, &heard, &options, &run.mark, NULL),
        SL_OK);
    assert_int_equal(run.mark.n_faults, 0);
    sl_heard_clear(&heard);
    sl_mark_clear(NULL);
    end_run(&run);
}

static void more_steps_than_can_be_aligned_are_refused(void **state)
{
    (void)state;
    struct run run = mark("signal left", false, T_LEFT);
    struct sl_heard_list heard = {0};
    for (size_t i = 0; i < 10002; i++) {
        struct sl_heard item = {
            .phase = i % 2, .start_s = (double)i, .end_s = (double)i + 0.5, .text = NULL};
        assert_int_equal(sl_heard_add(&heard, &item, NULL), SL_OK);
    }
    const struct sl_mark_options options = {0};
    struct sl_error error = {0};
    assert_int_equal(
        sl_mark_make(&run.routine, &run.junction, &run.plan, &heard, &options, &run.mark, &error),
        SL_TOO_LARGE);
    assert_non_null(error.what);
    assert_int_equal(run.mark.n_faults, 4); /* still the earlier mark */
    sl_error_clear(&error);
    sl_heard_clear(&heard);
    end_run(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steps_missed_or_unclear_are_told_apart),
        cmocka_unit_test(steps_out_of_order_are_the_smallest_set_of_moved_ones),
        cmocka_unit_test(steps_said_again_are_extra),
        cmocka_unit_test(settings_are_held_against_the_junction),
        cmocka_unit_test(times_are_held_against_the_windows),
        cmocka_unit_test(corrections_count_when_they_come_in_time),
        cmocka_unit_test(faults_say_what_happened_in_figures),
        cmocka_unit_test(a_phase_due_at_the_line_is_said_so),
        cmocka_unit_test(faults_and_phases_carry_their_times),
        cmocka_unit_test(what_ends_before_the_announcement_is_not_looked_at),
        cmocka_unit_test(the_clearest_of_unclear_phrases_is_told),
        cmocka_unit_test(phrases_of_no_phase_of_the_routine_are_passed_over),
        cmocka_unit_test(a_rule_against_the_order_still_gets_its_fault),
        cmocka_unit_test(marking_again_releases_the_earlier_mark),
        cmocka_unit_test(more_steps_than_can_be_aligned_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
