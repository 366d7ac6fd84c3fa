/* Every allocation of a marking fails in turn (support/failing_memory.h): the mark says so,
 * nothing leaks, nothing is half made. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/align.h"
#include "support/failing_memory.h"
#include "support/marked_run.h"

/* A run with a fault of every kind; returns how many allocations it took. */
static size_t fail_each_in_turn(const char *script, bool timed)
{
    struct run run = mark(CLEAN, true, T_LEFT);
    struct sl_heard_list heard = script_heard(&run.routine, script);
    const struct sl_mark_options options = {.timed = timed};
    struct sl_error error = {0};
    enum sl_status status = SL_NO_MEMORY;
    size_t n = 0;
    for (; status == SL_NO_MEMORY && n < 1000; n++) {
        allowed = (long)n;
        status = remark(&run, &heard, &options, &error);
        allowed = -1;
        if (status == SL_NO_MEMORY) {
            assert_int_equal(error.status, SL_NO_MEMORY);
            assert_int_equal(run.mark.n_faults, 0); /* still the clean mark */
            assert_non_null(run.mark.next);
        }
    }
    assert_int_equal(status, SL_OK);
    sl_heard_clear(&heard);
    end_run(&run);
    return n;
}

static void memory_that_runs_out_is_reported(void **state)
{
    (void)state;
    size_t timed = fail_each_in_turn("mirrors left @1; ?decide go @5; gear 1 @6; speed 30 @10; "
                                     "mirrors left @11; decide @12; gear 2 @13",
                                     true);
    size_t orders = fail_each_in_turn("mirrors left interior; signal left; decide go", false);
    size_t times = fail_each_in_turn("mirrors @4; ?signal @8; speed 10 @20; gear 2 up @25; decide "
                                     "go @26.5",
                                     true);
    assert_true(timed > 20 && orders > 10 && times > 10);
}

static void an_alignment_without_memory_is_reported(void **state)
{
    (void)state;
    const int token = 1;
    const struct sl_align_input input = {.ref = &token, .n_ref = 1, .hyp = &token, .n_hyp = 1};
    struct sl_alignment alignment = {0};
    for (long n = 0; n < 4; n++) {
        allowed = n;
        enum sl_status status = sl_align(&input, &sl_align_sclite, &alignment, NULL);
        allowed = -1;
        assert_int_equal(status, SL_NO_MEMORY);
        assert_null(alignment.pairs);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(memory_that_runs_out_is_reported),
        cmocka_unit_test(an_alignment_without_memory_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
