#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "core/units.h"
#include "core/view.h"
#include "support/near.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

/*
 * Manual for Streets (DfT, 2007), table 7.1, the row with the bonnet's 2.4 m. Speeds read in a
 * secondary copy; formula and distances from memory, recomputed, and every row agrees.
 */
static void manual_for_streets_table_7_1_comes_out(void **state)
{
    (void)state;
    const struct {
        double kmh, without_m, with_bonnet_m;
    } rows[] = {{16, 9, 11},  {20, 12, 14}, {24, 15, 17}, {25, 16, 18}, {30, 20, 23}, {32, 22, 25},
                {40, 31, 33}, {45, 36, 39}, {48, 40, 43}, {50, 43, 45}, {60, 56, 59}};
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        double needed_m = sl_sight_needed_m(rows[i].kmh * SL_MPS_PER_KMH);
        assert_near(round(needed_m), rows[i].with_bonnet_m, 0);
        assert_near(round(needed_m - SL_EYE_BEHIND_FRONT_M), rows[i].without_m, 0);
    }
}

/* Leicestershire Highway Design Guide, light vehicles; read in a secondary copy and recomputed. Its
 * rows round speeds to km/h as well as the distance, hence 0.6 m. */
static void leicestershires_distances_come_out(void **state)
{
    (void)state;
    const double rows[][2] = {{15, 17}, {20, 25}, {25, 33}, {30, 43}, {35, 54}, {40, 65}};
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        assert_near(sl_sight_needed_m(sl_mps_from_mph(rows[i][0])), rows[i][1], 0.6);
    }
}

/* Worked by hand with similar triangles: a corner 4 m back and 3 m aside, the eye 6 m back. The
 * line of sight falls 3 m aside in 2 m, so 9 m aside in 6 m. */
static void the_line_of_sight_over_a_corner_is_a_triangle(void **state)
{
    (void)state;
    const struct sl_corner corner = {.set_back_m = 4, .offset_m = 3};
    assert_near(sl_seen_along_m(&corner, 6), 9, 1e-12);
    assert_near(sl_seen_along_m(&corner, 8), 6, 1e-12);
    assert_near(sl_seen_along_m(&corner, 4.5), 27, 1e-12);
    assert_true(isinf(sl_seen_along_m(&corner, 4)));
    assert_true(isinf(sl_seen_along_m(&corner, 0)));
}

static void less_is_seen_from_further_back(void **state)
{
    (void)state;
    const struct sl_corner corner = {.set_back_m = 2.5, .offset_m = 6};
    double nearer_m = INFINITY;
    for (int eye_m = 3; eye_m < 100; eye_m++) {
        double seen_m = sl_seen_along_m(&corner, eye_m);
        assert_true(seen_m < nearer_m && seen_m > corner.offset_m);
        nearer_m = seen_m;
    }
}

static void nothing_that_hides_the_road_means_all_is_seen(void **state)
{
    (void)state;
    const struct sl_corner none = {0};
    const struct sl_sight sight = {.major_mps = 10};
    assert_true(isinf(sl_seen_along_m(&none, 50)));
    assert_true(isinf(sl_sight_from_line_m(&sight, 43)));
}

/* By hand: to see 9 m past the corner of the triangle above the eye must be 6 m back, so the front
 * of the car 3.6 m from the line. */
static void the_front_is_the_bonnet_nearer_than_the_eye(void **state)
{
    (void)state;
    const struct sl_corner corner = {.set_back_m = 4, .offset_m = 3};
    const struct sl_sight left = {.left = corner, .major_mps = 10};
    const struct sl_sight right = {.right = corner, .major_mps = 10};
    assert_near(sl_sight_from_line_m(&left, 9), 3.6, 1e-12);
    assert_near(sl_sight_from_line_m(&right, 9), 3.6, 1e-12);
}

static void the_worse_side_settles_it(void **state)
{
    (void)state;
    const struct sl_corner good = {.set_back_m = 4, .offset_m = 30};
    const struct sl_corner bad = {.set_back_m = 4, .offset_m = 3};
    const struct sl_sight sight = {.left = good, .right = bad, .major_mps = 10};
    const struct sl_sight mirrored = {.left = bad, .right = good, .major_mps = 10};
    double from_line_m = sl_sight_from_line_m(&sight, 43);
    assert_near(from_line_m, 43.0 * 4 / 40 - 2.4, 1e-12);
    assert_near(sl_sight_from_line_m(&mirrored, 43), from_line_m, 0);
    /* From there exactly as much is seen as is needed: the one undoes the other. */
    assert_near(sl_seen_along_m(&bad, from_line_m + SL_EYE_BEHIND_FRONT_M), 43, 1e-9);
}

static void a_wall_at_the_edge_shows_nothing_until_the_line(void **state)
{
    (void)state;
    const struct sl_sight wall = {.left = {.set_back_m = 0, .offset_m = 2}, .major_mps = 10};
    assert_near(sl_seen_along_m(&wall.left, 20), 2, 1e-12);
    assert_near(sl_sight_from_line_m(&wall, 43), 0, 0);
}

static void what_stands_further_aside_than_is_needed_hides_nothing(void **state)
{
    (void)state;
    const struct sl_sight wide = {.left = {.set_back_m = 10, .offset_m = 60}, .major_mps = 10};
    assert_true(isinf(sl_sight_from_line_m(&wide, 43)));
    assert_near(sl_sight_from_line_m(&wide, 61), 61.0 * 10 / 1 - 2.4, 1e-9);
}

static void a_measured_view_in_range_is_taken(void **state)
{
    (void)state;
    const struct sl_sight sights[] = {
        {.left = {4, 3}, .right = {2, 8}, .major_mps = sl_mps_from_mph(30)},
        {.left = {0, 0}, .right = {100, 100}, .major_mps = sl_mps_from_mph(70)},
    };
    for (size_t i = 0; i < COUNT_OF(sights); i++) {
        assert_int_equal(sl_sight_check(&sights[i], NULL), SL_OK);
    }
}

static void a_view_out_of_range_is_refused_with_value_and_mend(void **state)
{
    (void)state;
    const struct {
        struct sl_sight sight;
        const char *what;
    } rows[] = {
        {{.left = {-1, 3}, .major_mps = 10}, "the set-back of what hides the road is -1 m"},
        {{.left = {101, 3}, .major_mps = 10}, "the set-back of what hides the road is 101 m"},
        {{.right = {NAN, 3}, .major_mps = 10}, NULL},
        {{.right = {3, INFINITY}, .major_mps = 10}, NULL},
        {{.left = {3, 0}, .major_mps = 10},
         "what hides the road 3 m before the edge has the offset 0 m"},
        {{.major_mps = 0}, "the speed of traffic on the major road is 0 mph"},
        {{.major_mps = 300 * SL_MPS_PER_MPH}, "the speed of traffic on the major road is 300 mph"},
        {{.major_mps = NAN}, NULL},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_error error = {0};
        assert_int_equal(sl_sight_check(&rows[i].sight, &error), SL_INVALID);
        assert_non_null(error.mend);
        if (rows[i].what != NULL) {
            assert_string_equal(error.what, rows[i].what);
        }
        sl_error_clear(&error);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(manual_for_streets_table_7_1_comes_out),
        cmocka_unit_test(leicestershires_distances_come_out),
        cmocka_unit_test(the_line_of_sight_over_a_corner_is_a_triangle),
        cmocka_unit_test(less_is_seen_from_further_back),
        cmocka_unit_test(nothing_that_hides_the_road_means_all_is_seen),
        cmocka_unit_test(the_front_is_the_bonnet_nearer_than_the_eye),
        cmocka_unit_test(the_worse_side_settles_it),
        cmocka_unit_test(a_wall_at_the_edge_shows_nothing_until_the_line),
        cmocka_unit_test(what_stands_further_aside_than_is_needed_hides_nothing),
        cmocka_unit_test(a_measured_view_in_range_is_taken),
        cmocka_unit_test(a_view_out_of_range_is_refused_with_value_and_mend),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
