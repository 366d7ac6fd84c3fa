/*
 * The small parts: figures with units, the nearest word, UTF-8.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "files/near.h"
#include "files/quantity.h"
#include "files/utf8.h"
#include "support/near.h"

#include <stdlib.h>
#include <string.h>

/* Factors: international mile 1609.344 m and foot 0.3048 m (yard and pound agreement, 1959). */
static void figures_with_units_are_read(void **state)
{
    static const struct {
        const char *text;
        enum sl_quantity quantity;
        double value;
    } rows[] = {
        {"30 mph", SL_QUANTITY_SPEED, 13.4112},
        {"30mph", SL_QUANTITY_SPEED, 13.4112},
        {"36 km/h", SL_QUANTITY_SPEED, 10},
        {"13.4 m/s", SL_QUANTITY_SPEED, 13.4},
        {"0.5 m", SL_QUANTITY_LENGTH, 0.5},
        {".5 m", SL_QUANTITY_LENGTH, 0.5},
        {"400 ft", SL_QUANTITY_LENGTH, 121.92},
        {"-4 %", SL_QUANTITY_GRADIENT, -0.04},
        {"+4%", SL_QUANTITY_GRADIENT, 0.04},
        {"1.5 m/s2", SL_QUANTITY_RATE, 1.5},
        {"5 s", SL_QUANTITY_TIME, 5},
        {"850 rpm", SL_QUANTITY_ENGINE, 850},
        {"007 s", SL_QUANTITY_TIME, 7},
        {"1150 kg", SL_QUANTITY_MASS, 1150},
        {"0.65 m2", SL_QUANTITY_AREA, 0.65},
        {"110 Nm", SL_QUANTITY_TORQUE, 110},
        {"0.12 kgm2", SL_QUANTITY_INERTIA, 0.12},
    };
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        double value = 1e9;
        if (!sl_quantity_parse(rows[i].text, rows[i].quantity, &value)) {
            fail_msg("'%s' is not read", rows[i].text);
        }
        assert_near(value, rows[i].value, 1e-12);
    }
}

static void what_is_no_figure_is_refused(void **state)
{
    static const char *const texts[] = {"",         "mph",
                                        "30",       "30 mph ",
                                        "30 mphs",  "30 mi",
                                        "3 0 mph",  "--3 mph",
                                        "3- mph",   "1e3 mph",
                                        "nan mph",  "inf mph",
                                        "30,5 mph", "3..5 mph",
                                        ". mph",    "+ mph",
                                        "30. mph",  "0x1f mph",
                                        " 30 mph",  "30 m",
                                        "30\tmph",  "1234567890123456 mph"};
    (void)state;
    for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); i++) {
        double value = 77;
        if (sl_quantity_parse(texts[i], SL_QUANTITY_SPEED, &value)) {
            fail_msg("'%s' is read as %g", texts[i], value);
        }
        assert_near(value, 77, 0);
    }
}

static void tyre_codes_are_read(void **state)
{
    static const char *const bad[] = {"",          "185",        "185/60",    "185/60R",
                                      "185-60R15", "185/60R15 ", "185/60Z15", "a/60R15"};
    struct sl_car car = {0};
    (void)state;
    assert_true(sl_tyre_parse("185/60R15", &car));
    assert_near(car.tyre_width_mm, 185, 0);
    assert_near(car.tyre_aspect_percent, 60, 0);
    assert_near(car.rim_in, 15, 0);
    for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
        if (sl_tyre_parse(bad[i], &car)) {
            fail_msg("'%s' is read", bad[i]);
        }
    }
}

static void the_nearest_word_is_offered(void **state)
{
    static const char *const words[] = {"roundabout", NULL, "crossroads", "mini", "t", "lights"};
    static const struct {
        const char *word, *near;
    } rows[] = {
        {"rondabout", "roundabout"},
        {"cross-roads", "crossroads"},
        {"lihgts", "lights"},
        {"mini", "mini"},
        {"motorway", NULL},
        {"", NULL},
        {"x", NULL},
        {"ilghst", "lights"},
        {"ligth", "lights"},
        {"roundabuot", "roundabout"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        const char *near = sl_nearest(rows[i].word, words, sizeof(words) / sizeof(words[0]));
        if ((near == NULL) != (rows[i].near == NULL) ||
            (near != NULL && strcmp(near, rows[i].near) != 0)) {
            fail_msg("'%s' gets '%s'", rows[i].word, near == NULL ? "none" : near);
        }
    }
    char longer[200];
    memset(longer, 'a', sizeof(longer) - 1);
    longer[sizeof(longer) - 1] = '\0';
    assert_null(sl_nearest(longer, words, 1));
}

/* Sequences from RFC 3629: section 4 (syntax) and section 10 (overlong forms to refuse). */
static void utf8_is_told_from_other_bytes(void **state)
{
    static const struct {
        const char *name, *text;
        size_t valid;
    } rows[] = {
        {"ASCII", "abc", 3},
        {"two bytes", "\xc3\xa9", 2},
        {"three bytes, RFC 3629 section 7", "\xe6\x97\xa5", 3},
        {"four bytes, RFC 3629 section 7", "\xf0\xa3\x8e\xb4", 4},
        {"byte order mark", "\xef\xbb\xbf", 3},
        {"overlong slash", "a\xc0\xaf", 1},
        {"overlong zero", "\xc0\x80", 0},
        {"overlong in three", "\xe0\x80\xaf", 0},
        {"overlong in four", "\xf0\x80\x80\xaf", 0},
        {"surrogate", "\xed\xa1\x8c", 0},
        {"last before the surrogates", "\xed\x9f\xbf", 3},
        {"highest", "\xf4\x8f\xbf\xbf", 4},
        {"above the highest", "\xf4\x90\x80\x80", 0},
        {"lone continuation", "ab\x80", 2},
        {"cut off", "ab\xe2\x82", 2},
        {"five bytes", "\xf8\x88\x80\x80\x80", 0},
    };
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        size_t valid = sl_utf8_valid_length(rows[i].text, strlen(rows[i].text));
        if (valid != rows[i].valid) {
            fail_msg("%s: %zu", rows[i].name, valid);
        }
    }
    char *escaped = sl_utf8_escaped("a\xff\xc3\xa9\x80");
    assert_string_equal(escaped, "a\\xff\xc3\xa9\\x80");
    free(escaped);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_with_units_are_read),
        cmocka_unit_test(what_is_no_figure_is_refused),
        cmocka_unit_test(tyre_codes_are_read),
        cmocka_unit_test(the_nearest_word_is_offered),
        cmocka_unit_test(utf8_is_told_from_other_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
