#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/near.h"
#include "support/marked_run.h"

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
    {"an unclear word of correction replaces no mirror", true, false, MIRRORS,
     "mirrors interior right @3-4; ?no; mirrors left @5; signal left @8; speed 10 @12; gear 2 @16; "
     "decide go @24",
     "", "", "interior, right and left mirror"},
    {"untimed there is no window to be in time for", false, false, SIGNAL,
     "mirrors interior left @4; signal right @7-7.5; speed 10 @8.5-9; no; signal left @9.9; "
     "gear 2 up @16; decide go @24",
     "signal wrong-setting, signal extra", "", "signal right"},
    {"a decision put right late counts from then", true, true, DECIDE,
     GEAR_NEXT "gear 2 up @16; decide wait @21.5-21.6; mirrors @22-22.5; no; decide go @24",
     "mirrors extra, decide early", "wait", "go"},
    {"waiting and then going is no correction", true, false, DECIDE,
     GEAR_NEXT "gear 2 up @16; decide wait @23; decide go @25", "", "", "go"},
    {"wait, no, go is one", true, true, DECIDE,
     GEAR_NEXT "gear 2 up @16; decide wait @23; no; decide go @25.5", "", "wait", "go"},
    {"go and then waiting is one", true, true, DECIDE,
     GEAR_NEXT "gear 2 up @16; decide go @23; decide wait @25", "", "go", "wait"},
    {"the time of going is when go is said", true, false, DECIDE,
     GEAR_NEXT "gear 2 up @16; decide wait @22; decide go @22.5", "", "", "go"},
    {"going too soon after waiting", true, false, DECIDE,
     GEAR_NEXT "gear 2 up @16; decide wait @20; decide go @21.9", "decide early look-first", "",
     "go"},
    {"wait, go, wait is waiting", true, true, DECIDE,
     GEAR_NEXT "gear 2 up @16; decide wait @20; decide go @21; decide wait @21.5", "decide early",
     "go", "wait"},
    {"a repeat does not put off the rolling", true, false, GEAR,
     GEAR_NEXT "gear 2 up @17-18; gear 2 @23-24; decide go @25", "", "", "second gear, clutch up"},
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

static void what_ends_before_the_announcement_is_not_looked_at(void **state)
{
    (void)state;
    static const char script[] = "decide go @3-4; signal right @9-9.9; mirrors interior left @14; "
                                 "signal left @18; speed 10 @22; gear 2 up @26; decide go @34";
    struct run run = mark_from(script, true, T_LEFT, 10);
    assert_int_equal(run.mark.n_faults, 0);
    assert_near(run.mark.phases[MIRRORS].at_s, 4, 1e-9);
    end_run(&run);

    run = mark_from("mirrors interior left @9.5-10.5", true, T_LEFT, 10); /* straddles it */
    assert_true(run.mark.phases[MIRRORS].heard);
    assert_near(run.mark.phases[MIRRORS].at_s, -0.5, 1e-9);
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
    assert_int_equal(remark(&run, &heard, &options, NULL), SL_OK);
    assert_int_equal(fault_at(&run, GEAR)->kind, SL_FAULT_UNCLEAR);
    assert_near(fault_at(&run, GEAR)->at_s, 1, 0);
    sl_heard_clear(&heard);
    end_run(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corrections_count_when_they_come_in_time),
        cmocka_unit_test(what_ends_before_the_announcement_is_not_looked_at),
        cmocka_unit_test(the_clearest_of_unclear_phrases_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
