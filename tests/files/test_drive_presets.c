/*
 * The planned words at the planned times, for every junction, car and routine that is shipped.
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

struct names {
    char **names;
    size_t n;
};

static struct names all(const char *folder)
{
    struct names list = {0};
    assert_int_equal(sl_models_list(folder, &list.names, &list.n, NULL), SL_OK);
    return list;
}

static void free_all(struct names *list)
{
    for (size_t i = 0; i < list->n; i++) {
        free(list->names[i]);
    }
    free(list->names);
}

static void assert_arrives_as_planned(struct planned *planned, const char *what)
{
    struct sl_drive drive = {0};
    planned_say_all(planned);
    assert_int_equal(sl_drive_make(&planned->driving, &drive, NULL), SL_OK);
    const struct sl_arrival *arrival = &drive.arrival;
    char *came = drive_words(&drive);
    struct sl_settings gear = {0};
    for (size_t i = 0; i < planned->routine.n_phases; i++) {
        struct sl_settings right = planned_right(planned, i);
        sl_settings_merge(&gear, &right);
    }
    double target_mps = planned->plan.target_mps;
    if (!(fabs(arrival->speed_mps - target_mps) <= 0.1 * target_mps) || !arrival->reached ||
        arrival->gear != gear.gear || arrival->judder_s > 0.3 || !isnan(arrival->stalled_s) ||
        !(arrival->rolling_s >= 5.0) || came[0] != '\0') {
        print_error(
            "%s: %.2f m/s of %.2f, gear %d of %d, judder %.2f s at %.0f, jolt %.2f, rolling "
            "%.2f s, line %.1f of %.1f: %s\n",
            what, arrival->speed_mps, target_mps, arrival->gear, gear.gear, arrival->judder_s,
            arrival->judder_rpm, arrival->jolt_mps2, arrival->rolling_s, arrival->line_s,
            planned->plan.line_s, came);
        fail();
    }
    free(came);
    sl_drive_clear(&drive);
}

static void planned_words_bring_every_car_to_every_line_as_planned(void **state)
{
    struct names junctions = all("junctions");
    struct names cars = all("cars");
    struct names routines = all("routines");
    size_t driven = 0;
    (void)state;
    for (size_t i = 0; i < junctions.n * cars.n * routines.n; i++) {
        const char *junction = junctions.names[i % junctions.n];
        const char *car = cars.names[i / junctions.n % cars.n];
        const char *routine = routines.names[i / junctions.n / cars.n];
        struct planned planned;
        char *what = sl_strf("%s, %s, %s", junction, car, routine);
        assert_true(planned_load(&planned, junction, routine, car));
        assert_arrives_as_planned(&planned, what);
        driven++;
        free(what);
        planned_clear(&planned);
    }
    assert_int_equal(driven, junctions.n * cars.n * routines.n);
    assert_true(driven >= 35 * 3 * 2);
    free_all(&junctions);
    free_all(&cars);
    free_all(&routines);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(planned_words_bring_every_car_to_every_line_as_planned),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
