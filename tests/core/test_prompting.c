#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/prompting.h"

static void words_and_levels_go_both_ways(void **state)
{
    (void)state;
    for (size_t i = 0; i < SL_PROMPTING_COUNT; i++) {
        enum sl_prompting level = (enum sl_prompting)i;
        assert_int_equal(sl_prompting_from_word(sl_prompting_word(level)), level);
    }
    assert_int_equal(sl_prompting_from_word("fading"), SL_PROMPTING_COUNT);
    assert_int_equal(sl_prompting_from_word(""), SL_PROMPTING_COUNT);
    assert_null(sl_prompting_word(SL_PROMPTING_COUNT));
}

/* One letter a run: c clean, l late, e early, u unclear, m missed, o out of order, w wrong setting,
 * x extra, L late and unclear, W late and wrong. */
static struct sl_mark run_of(char letter)
{
    static struct sl_fault faults[2];
    struct sl_mark mark = {.faults = faults, .n_faults = 1};
    switch (letter) {
    case 'c':
        mark.n_faults = 0;
        break;
    case 'L':
    case 'W':
        faults[0].kind = SL_FAULT_LATE;
        faults[1].kind = letter == 'L' ? SL_FAULT_UNCLEAR : SL_FAULT_WRONG_SETTING;
        mark.n_faults = 2;
        break;
    default:
        faults[0].kind = letter == 'l'   ? SL_FAULT_LATE
                         : letter == 'e' ? SL_FAULT_EARLY
                         : letter == 'u' ? SL_FAULT_UNCLEAR
                         : letter == 'm' ? SL_FAULT_MISSED
                         : letter == 'o' ? SL_FAULT_OUT_OF_ORDER
                         : letter == 'x' ? SL_FAULT_EXTRA
                                         : SL_FAULT_WRONG_SETTING;
    }
    return mark;
}

/* Runs, and the level after each: f full, p partial, n none. */
static const struct {
    const char *name, *runs, *levels;
} rows[] = {
    {"one clean run is not enough", "c", "f"},
    {"two clean runs drop a level", "cc", "fp"},
    {"each level is earned anew", "cccc", "fppn"},
    {"none is the least", "cccccc", "fppnnn"},
    {"full is the most", "mmm", "fff"},
    {"a fault between starts the count anew", "cmcc", "fffp"},
    {"a late run between starts the count anew", "clcc", "fffp"},
    {"an unclear run changes nothing", "cuc", "ffp"},
    {"unclear hides nothing about timing: not counted either", "ccLll", "fpppf"},
    {"one missed step brings a level back", "ccm", "fpf"},
    {"one wrong setting brings a level back", "ccccw", "fppnp"},
    {"one step out of order brings a level back", "cco", "fpf"},
    {"a step said again brings a level back", "ccx", "fpf"},
    {"one late run does not", "ccl", "fpp"},
    {"two late runs in a row do", "ccle", "fppf"},
    {"late runs with a clean one between do not", "cclcl", "fpppp"},
    {"the worst fault decides", "ccW", "fpf"},
    {"the level comes back one by one", "ccccmm", "fppnpf"},
};

static void prompts_fade_with_clean_runs_and_come_back_with_faults(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_fading fading = sl_fading_start();
        for (size_t run = 0; rows[i].runs[run] != '\0'; run++) {
            struct sl_mark mark = run_of(rows[i].runs[run]);
            fading = sl_fading_after(fading, &mark);
            if (sl_prompting_word(fading.level)[0] != rows[i].levels[run]) {
                fail_msg("%s: after run %zu it is %s", rows[i].name, run + 1,
                         sl_prompting_word(fading.level));
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_and_levels_go_both_ways),
        cmocka_unit_test(prompts_fade_with_clean_runs_and_come_back_with_faults),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
