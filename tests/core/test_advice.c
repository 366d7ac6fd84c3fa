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
    const char *next;
};

static const struct row rows[] = {
    {"nothing heard", false, T_LEFT, "um; no",
     "Nothing of the routine was heard: check that the right microphone is on, then say it again."},
    {"clean, untimed", false, T_LEFT, CLEAN,
     "Well done, every step was there, in order and right; next, say it in time with the "
     "approach."},
    {"clean, open", true, T_LEFT, CLEAN,
     "Well done, every step was there, right and in time; next, try a junction that is closed."},
    {"clean, closed", true, CLOSED,
     "mirrors interior left @4; signal left @8; speed 4 @12; gear 1 down @16; decide wait @24",
     "Well done, every step was there, right and in time; next, try a junction that is open, or "
     "the "
     "other turn."},
    {"clean, but mirrors not named", true, T_LEFT,
     "mirrors @4; signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "Well done, nothing was wrong; next time say more in the mirrors step: interior and left "
     "mirror."},
    {"clean, but no decision named", true, T_LEFT,
     "mirrors interior left @4; signal left @8; speed 10 @12; gear 2 up @16; decide @24",
     "Well done, nothing was wrong; next time say more in the decide step: go or wait."},
    {"deciding too soon comes before what else is wrong", false, T_LEFT,
     "signal left; mirrors left; speed 30; decide go; gear 1",
     "Hold the decision back: say everything else first, let the car roll, look, and only then "
     "decide."},
    {"too little rolling comes before what is missed", true, T_LEFT,
     "signal left @8; speed 10 @12; gear 2 up @20-25; decide go @25.5",
     "Get the slowing and the gear done about 2.0 s sooner, so that the car has 5 s to roll before "
     "the line."},
    {"go before looking comes before what is missed", true, T_LEFT,
     "mirrors interior left @4; speed 10 @12; gear 2 up @16; decide go @20",
     "Keep 'go' back until you can really see along the road, about 2.0 s later than this time."},
    {"going where waiting is right comes before what is missed", false, STOP_LINE,
     "mirrors interior left; speed 4; gear 1 down; decide go",
     "Practise waiting: at this junction you stop and look before you go."},
    {"out of order comes before missed", false, T_LEFT,
     "mirrors interior left; gear 2 up; speed 10; decide go",
     "Say the routine slowly three times in its order, with the gear step in its place: mirrors, "
     "signal, speed, gear, decide."},
    {"a decision overtaken by nothing is not too soon", false, T_LEFT,
     "signal left; mirrors interior left; speed 10; gear 2 up; decide go",
     "Say the routine slowly three times in its order, with the signal step in its place: mirrors, "
     "signal, speed, gear, decide."},
    {"mirror order", false, T_LEFT,
     "mirrors left interior; signal left; speed 10; gear 2 up; decide go",
     "Say the mirrors in the order in which you look: interior and left mirror."},
    {"missed comes before wrong", false, T_LEFT, "mirrors left; speed 10; gear 2 up; decide go",
     "Run through it again and put in the signal step, right after the mirrors step: signal left."},
    {"mirrors missed", false, T_LEFT, "signal left; speed 10; gear 2 up; decide go",
     "Run through it again and put in the mirrors step, first of all: interior and left mirror."},
    {"of two missed the first", false, T_LEFT, "mirrors interior left; speed 10; gear 2 up",
     "Run through it again and put in the signal step, right after the mirrors step: signal left."},
    {"decide missed", false, T_LEFT, "mirrors interior left; signal left; speed 10; gear 2 up",
     "Run through it again and put in the decide step, right after the gear step."},
    {"wrong comes before late", true, T_LEFT,
     "mirrors interior left @7; signal left @8.5; speed 10 @12; gear 1 down @16; decide go @24",
     "Learn what this junction asks for in the gear step and say it aloud a few times: second "
     "gear, "
     "clutch up."},
    {"waiting where going is right is a setting like others", false, CLEAR,
     "mirrors interior left; signal left; speed 10; gear 2 up; decide wait",
     "Learn what this junction asks for in the decide step and say it aloud a few times: go."},
    {"late comes before early", true, T_LEFT,
     "mirrors interior left @1; signal left @11; speed 10 @12.1; gear 2 up @16; decide go @24",
     "Next time start the signal step at least 1.0 s sooner."},
    {"of two early ones the one further out", true, T_LEFT,
     "mirrors interior left @1.5; signal left @4; speed 10 @12; gear 2 up @16; decide go @24",
     "Next time start the signal step at least 2.0 s later."},
    {"early comes before unclear", true, T_LEFT,
     "mirrors interior left @0.5; ?signal left @8; speed 10 @12; gear 2 up @16; decide go @24",
     "Next time start the mirrors step at least 1.5 s later."},
    {"unclear comes before extra", false, T_LEFT,
     "mirrors interior left; speed 10; mirrors left; ?signal left; gear 2 up; decide go",
     "Say the signal step again, a little slower and clearer, closer to the microphone."},
    {"extra", false, T_LEFT,
     "mirrors interior left; signal left; speed 10; signal left; gear 2 up; decide go",
     "Say each step once and then leave it: the signal step came more than once."},
};

static void the_one_thing_to_practise_is_said(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct run run = mark(rows[i].script, rows[i].timed, rows[i].where);
        if (run.mark.next == NULL || strcmp(run.mark.next, rows[i].next) != 0) {
            print_error("%s: %s\n", rows[i].name, run.mark.next == NULL ? "" : run.mark.next);
        }
        assert_string_equal(run.mark.next, rows[i].next);
        end_run(&run);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_one_thing_to_practise_is_said)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
