/*
 * The shipped files, and finding files by name.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/plan.h"
#include "core/str.h"
#include "core/units.h"
#include "files/models.h"
#include "files/path.h"
#include "support/near.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void free_names(char **names, size_t n_names)
{
    for (size_t i = 0; i < n_names; i++) {
        free(names[i]);
    }
    free(names);
}

static void fail_with(const char *name, const struct sl_error *error)
{
    fail_msg("%s: %s: %s (%s)", name, error->where, error->what, error->mend);
}

static void every_kind_turn_and_view_that_makes_sense_has_a_preset(void **state)
{
    size_t n_presets = 0;
    (void)state;
    for (int kind = 0; kind < SL_KIND_COUNT; kind++) {
        for (int turn = 0; turn < SL_TURN_COUNT; turn++) {
            for (int view = 0; view < SL_VIEW_COUNT; view++) {
                struct sl_junction junction = {0};
                struct sl_error error = {0};
                if (turn == SL_TURN_AHEAD && (kind == SL_KIND_T || kind == SL_KIND_MAJOR)) {
                    continue;
                }
                char *name =
                    sl_strf("%s-%s-%s", sl_kind_word((enum sl_kind)kind),
                            sl_turn_word((enum sl_turn)turn), sl_view_word((enum sl_view)view));
                if (sl_load_junction(name, &junction, &error) != SL_OK) {
                    fail_with(name, &error);
                }
                assert_string_equal(junction.name, name);
                assert_non_null(junction.title);
                assert_int_equal(junction.kind, kind);
                assert_int_equal(junction.turn, turn);
                assert_int_equal(junction.view, view);
                n_presets++;
                sl_junction_clear(&junction);
                free(name);
            }
        }
    }
    assert_int_equal(n_presets, 32);
}

/* Loads all of a folder with `check`, and says how many there are. */
static size_t for_each(const char *folder, void (*check)(const char *name))
{
    char **names = NULL;
    size_t n_names = 0;
    assert_int_equal(sl_models_list(folder, &names, &n_names, NULL), SL_OK);
    for (size_t i = 0; i < n_names; i++) {
        assert_true(i == 0 || strcmp(names[i - 1], names[i]) < 0);
        check(names[i]);
    }
    free_names(names, n_names);
    return n_names;
}

/* Every plan of a shipped junction fits without giving anything up, in every car. */
static void check_plan(const struct sl_junction *junction, const char *routine_name)
{
    static const char *const cars[] = {"small-petrol", "family-diesel", "city-car"};
    struct sl_routine routine = {0};
    struct sl_error error = {0};
    assert_int_equal(sl_load_routine(routine_name, &routine, NULL), SL_OK);
    for (size_t i = 0; i < 3; i++) {
        struct sl_car car = {0};
        struct sl_plan plan = {0};
        assert_int_equal(sl_load_car(cars[i], &car, NULL), SL_OK);
        if (sl_plan_make(junction, &routine, &car, &plan, &error) != SL_OK) {
            fail_with(junction->name, &error);
        }
        if (!plan.long_enough || plan.judder) {
            fail_msg("%s, %s, %s: does not fit (needs %.0f m) or judders (%.0f rpm)",
                     junction->name, routine_name, cars[i], plan.needed_m, plan.engine_rpm);
        }
        sl_car_clear(&car);
    }
    sl_routine_clear(&routine);
}

static void check_junction(const char *name)
{
    struct sl_junction junction = {0};
    struct sl_error error = {0};
    if (sl_load_junction(name, &junction, &error) != SL_OK) {
        fail_with(name, &error);
    }
    check_plan(&junction, "decide-last");
    check_plan(&junction, "position-look");
    sl_junction_clear(&junction);
}

static void check_routine(const char *name)
{
    struct sl_routine routine = {0};
    struct sl_error error = {0};
    if (sl_load_routine(name, &routine, &error) != SL_OK) {
        fail_with(name, &error);
    }
    sl_routine_clear(&routine);
}

static void check_car(const char *name)
{
    struct sl_car car = {0};
    struct sl_error error = {0};
    if (sl_load_car(name, &car, &error) != SL_OK) {
        fail_with(name, &error);
    }
    assert_non_null(strstr(car.title, "invented"));
    sl_car_clear(&car);
}

static void every_shipped_file_loads_and_every_plan_fits(void **state)
{
    (void)state;
    assert_true(for_each("junctions", check_junction) >= 35);
    assert_int_equal(for_each("routines", check_routine), 2);
    assert_int_equal(for_each("cars", check_car), 3);
    assert_int_equal(for_each("nothing-here", check_car), 0);
}

static void a_junction_file_means_what_it_says(void **state)
{
    struct sl_junction junction = {0};
    (void)state;
    assert_int_equal(sl_parse_junction("title: Dyke Road into Elm Row (invented)\n"
                                       "kind: lights\nturn: ahead\n"
                                       "view:\n"
                                       "  left: {set-back: 10 ft, offset: 2.5 m}\n"
                                       "  major-road: 48 km/h\n"
                                       "approach: 13.4 m/s\ndistance: 400 ft\ngradient: -4 %\n"
                                       "signal-misleads: true\ntraffic: busy\n",
                                       "a/b/elm-row.yaml", &junction, NULL),
                     SL_OK);
    assert_string_equal(junction.name, "elm-row");
    assert_string_equal(junction.title, "Dyke Road into Elm Row (invented)");
    assert_int_equal(junction.kind, SL_KIND_LIGHTS);
    assert_int_equal(junction.control, SL_CONTROL_LIGHTS); /* the default for lights */
    assert_int_equal(junction.turn, SL_TURN_AHEAD);
    assert_true(junction.sight_measured);
    /* 1 ft = 0.3048 m, international yard and pound agreement 1959 */
    assert_near(junction.sight.left.set_back_m, 3.048, 1e-12);
    assert_near(junction.sight.left.offset_m, 2.5, 1e-12);
    assert_near(junction.sight.right.offset_m, 0, 0);
    assert_near(junction.sight.major_mps, 48 / 3.6, 1e-12);
    assert_near(junction.approach_mps, 13.4, 1e-12);
    assert_near(junction.distance_m, 121.92, 1e-12);
    assert_near(junction.gradient, -0.04, 1e-15);
    assert_true(junction.signal_misleads);
    assert_int_equal(junction.traffic, SL_TRAFFIC_BUSY);
    sl_junction_clear(&junction);
    assert_int_equal(sl_parse_junction("kind: t\nturn: left\nview: open\napproach: 70 mph\n", "x",
                                       &junction, NULL),
                     SL_OK);
    assert_int_equal(junction.control, SL_CONTROL_GIVE_WAY);
    assert_int_equal(junction.traffic, SL_TRAFFIC_ANY);
    assert_near(junction.approach_mps, 31.2928, 1e-9); /* 70 x 1609.344 m / 3600 s */
    assert_near(junction.distance_m, 0, 0);
    assert_null(junction.title);
    sl_junction_clear(&junction);
}

/* Sample car of the tests of engine speed: 185/60R15 is 603.0 mm high, second gear at 10 mph 1109
 * rpm (tyre codes: ISO 4000-1; ratios invented). */
static void the_shipped_car_turns_as_computed_by_hand(void **state)
{
    struct sl_car car = {0};
    (void)state;
    assert_int_equal(sl_load_car("small-petrol", &car, NULL), SL_OK);
    assert_int_equal(car.n_gears, 5);
    assert_near(sl_tyre_diameter_m(&car), 0.6030, 1e-9);
    assert_near(sl_engine_rpm(&car, sl_mps_from_mph(10), 2), 1109, 1);
    /* as written in its file */
    assert_near(car.mass_kg, 1150, 0);
    assert_near(car.drag_area_m2, 0.65, 1e-12);
    assert_near(car.rolling, 0.012, 1e-12);
    assert_near(car.torque_nm, 110, 0);
    assert_near(car.overrun_nm, 13, 0);
    assert_near(car.overrun_krpm, 5.5, 1e-12);
    assert_near(car.inertia_kgm2, 0.12, 1e-12);
    assert_near(car.stall_rpm, 500, 0);
    sl_car_clear(&car);
}

static void the_shipped_routine_means_what_the_trade_says(void **state)
{
    struct sl_routine routine = {0};
    static const char *const ids[] = {"mirrors", "signal", "speed", "gear", "decide"};
    (void)state;
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    assert_int_equal(routine.n_phases, 5);
    for (size_t i = 0; i < 5; i++) {
        assert_string_equal(routine.phases[i].id, ids[i]);
    }
    /* open: about 10 mph, second, clutch up; closed: under 5 mph, first, clutch down (common
     * practice, no source) */
    const struct sl_wanted *open = &routine.view[SL_VIEW_OPEN];
    const struct sl_wanted *closed = &routine.view[SL_VIEW_CLOSED];
    assert_near(sl_mph_from_mps(open->settings.speed_mps), 10, 1e-9);
    assert_near(sl_mph_from_mps(open->speed_min_mps), 8, 1e-9);
    assert_near(sl_mph_from_mps(open->speed_max_mps), 12, 1e-9);
    assert_int_equal(open->settings.gear, 2);
    assert_int_equal(open->settings.clutch, SL_CLUTCH_UP);
    assert_near(sl_mph_from_mps(closed->settings.speed_mps), 5, 1e-9);
    assert_near(closed->speed_min_mps, 0, 0);
    assert_int_equal(closed->settings.gear, 1);
    assert_int_equal(closed->settings.clutch, SL_CLUTCH_DOWN);
    assert_int_equal(routine.stop.settings.decision, SL_DECISION_WAIT);
    assert_int_equal(routine.phases[3].carries, SL_SET_GEAR | SL_SET_CLUTCH);
    assert_int_equal(routine.phases[3].required, SL_SET_GEAR);
    /* comfortable slowing in the United Kingdom: 0.25 g (Highway Engineering, p. 164; secondary) */
    assert_near(routine.timing.firm_mps2, 0.25 * SL_GRAVITY_MPS2, 0.005);
    assert_near(routine.timing.rolling_s, 5, 0);
    assert_near(routine.scoring.weight_order + routine.scoring.weight_completeness +
                    routine.scoring.weight_settings + routine.scoring.weight_timing,
                100, 0);
    sl_routine_clear(&routine);
}

static void an_unknown_name_gets_the_nearest(void **state)
{
    static const struct {
        const char *name, *mend;
    } rows[] = {{"t-left-opne", "'t-left-open'"},
                {"t-lft-closed", "'t-left-closed'"},
                {"somewhere-else-entirely", "t-left-open, "},
                {"", "t-left-open, "}};
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        struct sl_error error = {0};
        struct sl_junction junction = {0};
        assert_int_equal(sl_load_junction(rows[i].name, &junction, &error), SL_NOT_FOUND);
        if (strstr(error.mend, rows[i].mend) == NULL) {
            fail_msg("'%s': %s", rows[i].name, error.mend);
        }
        sl_error_clear(&error);
    }
}

static void a_path_that_cannot_be_read_says_so(void **state)
{
    static const struct {
        const char *path;
        enum sl_status status;
    } rows[] = {{"./no-such-file.yaml", SL_NOT_FOUND},
                {"no-such-file.yaml", SL_NOT_FOUND},
                {"/", SL_IO},
                {"/dev/null", SL_FORMAT},
                {"/dev/zero", SL_TOO_LARGE},
                {"/dev/null/x", SL_NOT_FOUND}};
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        struct sl_error error = {0};
        struct sl_junction junction = {0};
        enum sl_status status = sl_load_junction(rows[i].path, &junction, &error);
        if (status != rows[i].status || error.what == NULL || error.mend == NULL) {
            fail_msg("%s: %s", rows[i].path, sl_status_name(status));
        }
        assert_string_equal(error.where, rows[i].path);
        sl_error_clear(&error);
    }
}

/* Writes FOLDER/junctions/NAME.yaml whose title is `title`. */
static void write_junction(const char *folder, const char *name, const char *title)
{
    char *junctions = sl_strf("%s/junctions", folder);
    char *path = sl_strf("%s/%s.yaml", junctions, name);
    mkdir(folder, 0700);
    mkdir(junctions, 0700);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fprintf(file, "title: %s\nkind: t\nturn: left\nview: open\napproach: 30 mph\n", title);
    fclose(file);
    free(path);
    free(junctions);
}

static void remove_junction(const char *folder, const char *name)
{
    char *junctions = sl_strf("%s/junctions", folder);
    char *path = sl_strf("%s/%s.yaml", junctions, name);
    unlink(path);
    rmdir(junctions);
    rmdir(folder);
    free(path);
    free(junctions);
}

static void title_is(const char *name, const char *title)
{
    struct sl_junction junction = {0};
    assert_int_equal(sl_load_junction(name, &junction, NULL), SL_OK);
    assert_string_equal(junction.title, title);
    sl_junction_clear(&junction);
}

static void folders_are_searched_in_order(void **state)
{
    char base[] = "/tmp/sayline-test-XXXXXX";
    char *shipped = sl_strdup(getenv("SAYLINE_MODELS"));
    (void)state;
    assert_non_null(mkdtemp(base));
    char *set = sl_strf("%s/set", base);
    char *user = sl_strf("%s/sayline", base);
    write_junction(set, "t-left-open", "from the variable");
    write_junction(user, "t-left-open", "from the user's folder");
    setenv("SAYLINE_MODELS", set, 1);
    setenv("XDG_DATA_HOME", base, 1);
    title_is("t-left-open", "from the variable");
    unsetenv("SAYLINE_MODELS");
    title_is("t-left-open", "from the user's folder");
    setenv("SAYLINE_MODELS", "", 1);
    char *here = getcwd(NULL, 0);
    assert_int_equal(chdir(base), 0);
    setenv("XDG_DATA_HOME", ".", 1); /* relative: passed over, as the XDG rules want */
    title_is("t-left-open", "T-junction, turning left, open view"); /* the source tree's */
    unsetenv("XDG_DATA_HOME");
    assert_int_equal(chdir(here), 0);
    free(here);
    setenv("SAYLINE_MODELS", shipped == NULL ? "" : shipped, 1);
    remove_junction(set, "t-left-open");
    remove_junction(user, "t-left-open");
    rmdir(base);
    free(set);
    free(user);
    free(shipped);
}

static void a_junction_is_read_from_standard_input(void **state)
{
    char path[] = "/tmp/sayline-test-XXXXXX";
    struct sl_junction junction = {0};
    struct sl_error error = {0};
    (void)state;
    int descriptor = mkstemp(path);
    FILE *file = fdopen(descriptor, "w");
    assert_non_null(file);
    fputs("kind: t\nturn: left\nview: open\napproach: 30\n", file);
    fclose(file);
    assert_non_null(freopen(path, "r", stdin));
    assert_int_equal(sl_load_junction("-", &junction, &error), SL_INVALID);
    assert_string_equal(error.where, "standard input:4:11");
    sl_error_clear(&error);
    unlink(path);
}

static void other_files_are_found_by_their_path(void **state)
{
    char *path = NULL;
    struct sl_error error = {0};
    (void)state;
    assert_int_equal(sl_models_path("pronunciations.dict", &path, NULL), SL_OK);
    assert_non_null(strstr(path, "/pronunciations.dict"));
    free(path);
    assert_int_equal(sl_models_path("no-such.dict", &path, &error), SL_NOT_FOUND);
    assert_non_null(error.mend);
    sl_error_clear(&error);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_turn_and_view_that_makes_sense_has_a_preset),
        cmocka_unit_test(every_shipped_file_loads_and_every_plan_fits),
        cmocka_unit_test(a_junction_file_means_what_it_says),
        cmocka_unit_test(the_shipped_car_turns_as_computed_by_hand),
        cmocka_unit_test(the_shipped_routine_means_what_the_trade_says),
        cmocka_unit_test(an_unknown_name_gets_the_nearest),
        cmocka_unit_test(a_path_that_cannot_be_read_says_so),
        cmocka_unit_test(folders_are_searched_in_order),
        cmocka_unit_test(a_junction_is_read_from_standard_input),
        cmocka_unit_test(other_files_are_found_by_their_path),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
