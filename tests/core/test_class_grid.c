#include "core/class_grid.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/marking.h"
#include "support/near.h"

/* A run of three phases with up to two faults. */
static void add(struct sl_class_grid *grid, const char *learner, double score,
                struct sl_fault *faults, size_t n_faults)
{
    struct sl_tally_step steps[3] = {0};
    const struct sl_tally_run run = {.overall = score, .steps = steps, .n_steps = 3};
    for (size_t i = 0; i < n_faults; i++) {
        if (faults[i].kind == SL_FAULT_UNCLEAR) {
            steps[faults[i].phase].unclear = true;
        } else {
            steps[faults[i].phase].faults[faults[i].kind]++;
        }
    }
    assert_int_equal(sl_class_grid_add(grid, learner, &run, NULL), SL_OK);
}

static void the_phase_that_is_wrong_most_often_is_next(void **state)
{
    (void)state;
    struct sl_class_grid grid = {0};
    struct sl_fault late = {.phase = 1, .kind = SL_FAULT_LATE};
    struct sl_fault two[] = {{.phase = 1, .kind = SL_FAULT_MISSED},
                             {.phase = 2, .kind = SL_FAULT_EARLY}};
    add(&grid, "Ana", 80, &late, 1);
    add(&grid, "Ben", 60, two, 2);
    add(&grid, "Ana", 90, &late, 1);
    add(&grid, "Ben", 100, NULL, 0);
    assert_int_equal(grid.n_learners, 2);
    assert_string_equal(grid.learners[0].name, "Ana");
    assert_int_equal(grid.learners[0].right[1].hits, 0);
    assert_int_equal(grid.learners[0].right[1].of, 2);
    assert_int_equal(grid.learners[1].right[1].hits, 1);
    assert_int_equal(grid.right[0].hits, 4);
    assert_near(grid.learners[0].score_sum, 170, 1e-12);
    const struct sl_class_next next = sl_class_next(&grid);
    assert_true(next.any);
    assert_int_equal(next.phase, 1);
    assert_int_equal(next.fault, SL_FAULT_LATE);
    assert_int_equal(next.runs, 2);
    sl_class_grid_clear(&grid);
}

static void unclear_is_no_fault_and_no_success(void **state)
{
    (void)state;
    struct sl_class_grid grid = {0};
    struct sl_fault unclear = {.phase = 0, .kind = SL_FAULT_UNCLEAR};
    struct sl_fault both[] = {{.phase = 0, .kind = SL_FAULT_UNCLEAR},
                              {.phase = 0, .kind = SL_FAULT_EXTRA}};
    add(&grid, "Ana", 90, &unclear, 1);
    assert_int_equal(grid.right[0].of, 0);
    assert_int_equal(grid.faults[0][SL_FAULT_UNCLEAR], 1);
    assert_false(sl_class_next(&grid).any);
    add(&grid, "Ana", 90, both, 2);
    assert_int_equal(grid.right[0].of, 1);
    assert_int_equal(sl_class_next(&grid).fault, SL_FAULT_EXTRA);
    sl_class_grid_clear(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_phase_that_is_wrong_most_often_is_next),
        cmocka_unit_test(unclear_is_no_fault_and_no_success),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
