#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/near.h"
#include "support/marked_run.h"
#include "support/random.h"

#define ROUNDS 4000

/* Any settings at all, right or wrong, in any phase. */
static struct sl_settings random_settings(uint64_t *random)
{
    struct sl_settings settings = {0};
    for (size_t n = random_below(random, 4); n > 0; n--) {
        sl_settings_add_mirror(&settings, (enum sl_mirror)(random_below(random, 4)));
    }
    settings.signal = (enum sl_signal)random_below(random, 4);
    settings.speed_mps = sl_mps_from_mph((double)(random_below(random, 5) * 5));
    settings.gear = (int)random_below(random, 4);
    settings.clutch = (enum sl_clutch)random_below(random, 3);
    settings.decision = (enum sl_decision)random_below(random, 3);
    settings.position = (enum sl_position)random_below(random, 4);
    return settings;
}

static struct sl_heard_list random_heard(uint64_t *random)
{
    struct sl_heard_list list = {0};
    size_t n = random_below(random, 16);
    double at_s = 0;
    for (size_t i = 0; i < n; i++) {
        struct sl_heard heard = {.phase = random_below(random, FIXTURE_PHASES + 3)};
        heard.phase = heard.phase == FIXTURE_PHASES       ? SL_PHRASE_FILLER
                      : heard.phase == FIXTURE_PHASES + 1 ? SL_PHRASE_CORRECTION
                                                          : heard.phase;
        at_s += 4 * random_share(random);
        heard.start_s = at_s;
        at_s += random_share(random);
        heard.end_s = at_s;
        heard.confidence = random_share(random);
        heard.unclear = random_below(random, 5) == 0;
        heard.settings = random_settings(random);
        heard.text = random_below(random, 2) == 0 ? NULL : (char *)"words";
        assert_int_equal(sl_heard_add(&list, &heard, NULL), SL_OK);
    }
    return list;
}

static void make(struct run *run, const struct sl_heard_list *heard,
                 const struct sl_mark_options *options)
{
    assert_int_equal(remark(run, heard, options, NULL), SL_OK);
}

static void assert_score(double score)
{
    assert_true(score >= 0 && score <= 100);
}

/* Faults by phase and kind; the mirror order apart. */
static void count_faults(const struct sl_mark *mark,
                         size_t counts[FIXTURE_PHASES][SL_FAULT_KIND_COUNT])
{
    for (size_t i = 0; i < mark->n_faults; i++) {
        const struct sl_fault *fault = &mark->faults[i];
        assert_true(fault->phase < FIXTURE_PHASES && fault->kind < SL_FAULT_KIND_COUNT);
        assert_true(strlen(fault->what) > 10 && strlen(fault->reason) > 10);
        assert_null(strstr(fault->what, "nan"));
        assert_null(strstr(fault->what, "inf"));
        if (strcmp(fault->rule, "interior-first") != 0) {
            counts[fault->phase][fault->kind]++;
        }
        if (i > 0) {
            assert_true(mark->faults[i - 1].phase <= fault->phase);
        }
    }
}

static void check_mark(const struct sl_mark *mark)
{
    size_t counts[FIXTURE_PHASES][SL_FAULT_KIND_COUNT] = {{0}};
    count_faults(mark, counts);
    for (size_t phase = 0; phase < FIXTURE_PHASES; phase++) {
        const size_t *of = counts[phase];
        bool heard = mark->phases[phase].heard;
        assert_true(of[SL_FAULT_MISSED] + of[SL_FAULT_UNCLEAR] + of[SL_FAULT_OUT_OF_ORDER] <= 1);
        assert_true(of[SL_FAULT_EARLY] + of[SL_FAULT_LATE] + of[SL_FAULT_OUT_OF_ORDER] <= 1);
        assert_true(of[SL_FAULT_WRONG_SETTING] <= 1);
        assert_true(!heard || of[SL_FAULT_MISSED] + of[SL_FAULT_UNCLEAR] == 0);
        assert_true(heard || of[SL_FAULT_WRONG_SETTING] + of[SL_FAULT_EARLY] + of[SL_FAULT_LATE] +
                                     of[SL_FAULT_EXTRA] + of[SL_FAULT_OUT_OF_ORDER] ==
                                 0);
        assert_true(mark->timed || of[SL_FAULT_EARLY] + of[SL_FAULT_LATE] == 0);
        assert_true(heard == (mark->phases[phase].at_s == mark->phases[phase].at_s));
    }
    assert_score(mark->scores.order);
    assert_score(mark->scores.completeness);
    assert_score(mark->scores.settings);
    assert_score(mark->scores.overall);
    assert_true(mark->timed == !(bool)isnan(mark->scores.timing));
    if (mark->timed) {
        assert_score(mark->scores.timing);
    }
    assert_true(strlen(mark->next) > 20);
}

static void check_same(const struct sl_mark *a, const struct sl_mark *b)
{
    assert_int_equal(a->n_faults, b->n_faults);
    for (size_t i = 0; i < a->n_faults; i++) {
        assert_int_equal(a->faults[i].kind, b->faults[i].kind);
        assert_int_equal(a->faults[i].phase, b->faults[i].phase);
        assert_string_equal(a->faults[i].rule, b->faults[i].rule);
        assert_string_equal(a->faults[i].what, b->faults[i].what);
        assert_string_equal(a->faults[i].reason, b->faults[i].reason);
    }
    assert_memory_equal(&a->scores, &b->scores, sizeof a->scores);
    assert_string_equal(a->next, b->next);
}

static void any_heard_list_gets_a_sound_mark_twice_the_same(void **state)
{
    (void)state;
    uint64_t random = 5;
    struct run run = {.routine = fixture_routine(), .plan = fixture_plan()};
    struct sl_mark again = {0};
    for (size_t round = 0; round < ROUNDS; round++) {
        struct sl_heard_list heard = random_heard(&random);
        const struct sl_mark_options options = {.timed = random_below(&random, 2) == 1,
                                                .from_s = (double)random_below(&random, 3)};
        run.junction = junction_at((enum where)random_below(&random, CLEAR + 1));
        run.plan.view = run.junction.view;
        make(&run, &heard, &options);
        check_mark(&run.mark);
        const struct sl_task task = {&run.routine, &run.junction, &run.plan, options};
        assert_int_equal(sl_mark_make(&task, &heard, &again, NULL), SL_OK);
        check_same(&run.mark, &again);
        sl_heard_clear(&heard);
    }
    sl_mark_clear(&again);
    end_run(&run);
}

/* A run in which every phase is said once, rightly, at a random moment of its window; as many
 * phrases as it likes and fillers between. */
static struct sl_heard_list clean_run(const struct run *run, uint64_t *random)
{
    struct sl_heard_list list = {0};
    for (size_t phase = 0; phase < FIXTURE_PHASES; phase++) {
        const struct sl_window *window = &run->plan.windows[phase];
        struct sl_wanted wanted =
            sl_routine_wanted(&run->routine, phase, &run->junction, run->plan.view);
        struct sl_heard heard = {.phase = phase, .confidence = 1, .settings = wanted.settings};
        heard.start_s = window->opens_s + 0.2 + 3 * random_share(random);
        heard.end_s = heard.start_s + 0.3;
        if (phase == DECIDE && wanted.settings.decision == SL_DECISION_UNSAID) {
            heard.settings.decision =
                random_below(random, 2) == 0 ? SL_DECISION_GO : SL_DECISION_WAIT;
        }
        assert_int_equal(sl_heard_add(&list, &heard, NULL), SL_OK);
        for (size_t repeats = random_below(random, 3); repeats > 0; repeats--) {
            struct sl_heard more = heard;
            more.phase = random_below(random, 2) == 0 ? phase : SL_PHRASE_FILLER;
            more.start_s = heard.end_s;
            more.end_s = heard.end_s + 0.1;
            assert_int_equal(sl_heard_add(&list, &more, NULL), SL_OK);
        }
    }
    return list;
}

static void random_task(struct run *run, struct sl_mark_options *options, uint64_t *random)
{
    run->junction = junction_at((enum where)random_below(random, CLEAR + 1));
    run->plan.view = run->junction.view;
    options->timed = random_below(random, 2) == 1;
}

static void a_clean_run_has_no_fault(void **state)
{
    (void)state;
    uint64_t random = 6;
    struct run run = {.routine = fixture_routine(), .plan = fixture_plan()};
    for (size_t round = 0; round < ROUNDS; round++) {
        struct sl_mark_options options = {0};
        random_task(&run, &options, &random);
        struct sl_heard_list heard = clean_run(&run, &random);
        make(&run, &heard, &options);
        assert_int_equal(run.mark.n_faults, 0);
        assert_near(run.mark.scores.order, 100, 0);
        assert_near(run.mark.scores.completeness, 100, 0);
        assert_near(run.mark.scores.settings, 100, 0);
        assert_near(run.mark.scores.overall, 100, 1e-9);
        sl_heard_clear(&heard);
    }
    end_run(&run);
}

/* Makes the phrases of a phase unclear or, as fillers, unsaid. */
static void spoil(struct sl_heard_list *heard, size_t phase, bool unclear)
{
    for (size_t i = 0; i < heard->count; i++) {
        if (heard->items[i].phase == phase) {
            heard->items[i].unclear = unclear;
            heard->items[i].phase = unclear ? phase : SL_PHRASE_FILLER;
        }
    }
}

static void one_phase_left_out_is_exactly_that_missed(void **state)
{
    (void)state;
    uint64_t random = 7;
    struct run run = {.routine = fixture_routine(), .plan = fixture_plan()};
    for (size_t round = 0; round < ROUNDS; round++) {
        struct sl_mark_options options = {0};
        random_task(&run, &options, &random);
        struct sl_heard_list heard = clean_run(&run, &random);
        size_t phase = random_below(&random, FIXTURE_PHASES);
        bool unclear = random_below(&random, 2) == 1;
        spoil(&heard, phase, unclear);
        make(&run, &heard, &options);
        bool waived =
            phase == SIGNAL && run.junction.turn == SL_TURN_AHEAD && !run.junction.signal_misleads;
        assert_int_equal(run.mark.n_faults, waived ? 0 : 1);
        if (!waived) {
            assert_int_equal(fault_at(&run, 0)->kind, unclear ? SL_FAULT_UNCLEAR : SL_FAULT_MISSED);
            assert_int_equal(fault_at(&run, 0)->phase, phase);
        }
        sl_heard_clear(&heard);
    }
    end_run(&run);
}

/* What was said, with a phase and the next one exchanged. */
static void swap_phases(const struct run *run, struct sl_heard_list *heard, size_t phase)
{
    for (size_t i = 0; i < heard->count; i++) {
        struct sl_heard *item = &heard->items[i];
        if (item->phase == phase || item->phase == phase + 1) {
            item->phase = item->phase == phase ? phase + 1 : phase;
            item->settings =
                sl_routine_wanted(&run->routine, item->phase, &run->junction, run->plan.view)
                    .settings;
        }
    }
}

static void two_neighbours_swapped_are_exactly_one_out_of_order(void **state)
{
    (void)state;
    uint64_t random = 8;
    struct run run = {.routine = fixture_routine(), .plan = fixture_plan()};
    for (size_t round = 0; round < ROUNDS; round++) {
        struct sl_mark_options options = {0};
        random_task(&run, &options, &random);
        options.timed = false;
        struct sl_heard_list heard = clean_run(&run, &random);
        size_t phase = random_below(&random, FIXTURE_PHASES - 1);
        swap_phases(&run, &heard, phase);
        make(&run, &heard, &options);
        assert_int_equal(run.mark.n_faults, 1);
        assert_int_equal(fault_at(&run, 0)->kind, SL_FAULT_OUT_OF_ORDER);
        assert_int_equal(fault_at(&run, 0)->phase, phase + 1); /* the one that jumped ahead */
        assert_near(run.mark.scores.order, 90, 1e-9);
        sl_heard_clear(&heard);
    }
    end_run(&run);
}

/* Another value than the right one for the first setting of the phase. */
static struct sl_settings spoilt(const struct sl_settings *right, size_t phase)
{
    struct sl_settings wrong = *right;
    switch (phase) {
    case MIRRORS:
        wrong.n_mirrors = 1;
        wrong.mirrors[0] = SL_MIRROR_RIGHT;
        break;
    case SIGNAL:
        wrong.signal = right->signal == SL_SIGNAL_LEFT ? SL_SIGNAL_NONE : SL_SIGNAL_LEFT;
        break;
    case SPEED:
        wrong.speed_mps = sl_mps_from_mph(25);
        break;
    default:
        wrong.gear = 3;
        break;
    }
    return wrong;
}

static void spoil_settings(struct sl_heard_list *heard, size_t phase)
{
    for (size_t i = 0; i < heard->count; i++) {
        if (heard->items[i].phase == phase) {
            heard->items[i].settings = spoilt(&heard->items[i].settings, phase);
        }
    }
}

static void one_setting_changed_is_exactly_one_wrong_setting(void **state)
{
    (void)state;
    uint64_t random = 9;
    struct run run = {.routine = fixture_routine(), .plan = fixture_plan()};
    for (size_t round = 0; round < ROUNDS; round++) {
        struct sl_mark_options options = {0};
        random_task(&run, &options, &random);
        struct sl_heard_list heard = clean_run(&run, &random);
        size_t phase = random_below(&random, DECIDE);
        spoil_settings(&heard, phase);
        make(&run, &heard, &options);
        assert_int_equal(run.mark.n_faults, 1);
        assert_int_equal(fault_at(&run, 0)->kind, SL_FAULT_WRONG_SETTING);
        assert_int_equal(fault_at(&run, 0)->phase, phase);
        sl_heard_clear(&heard);
    }
    end_run(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_heard_list_gets_a_sound_mark_twice_the_same),
        cmocka_unit_test(a_clean_run_has_no_fault),
        cmocka_unit_test(one_phase_left_out_is_exactly_that_missed),
        cmocka_unit_test(two_neighbours_swapped_are_exactly_one_out_of_order),
        cmocka_unit_test(one_setting_changed_is_exactly_one_wrong_setting),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
