#include "core/phones.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

static int phone(const char *name)
{
    int number = sl_phone_from_name(name, strlen(name));
    assert_int_not_equal(number, SL_PHONE_NONE);
    return number;
}

static void phones_are_found_by_name(void **state)
{
    (void)state;
    for (int i = 0; i < SL_PHONE_COUNT; i++) {
        assert_int_equal(sl_phone_from_name(sl_phones[i], strlen(sl_phones[i])), i);
    }
    assert_int_equal(sl_phone_from_name("AHX", 2), phone("AH"));
    assert_int_equal(sl_phone_from_name("A", 1), SL_PHONE_NONE);
    assert_int_equal(sl_phone_from_name("", 0), SL_PHONE_NONE);
}

/* A distance: nothing to itself, the same both ways, a detour is never shorter, and never more than
 * leaving one out and putting the other in. */
static void costs_are_a_distance(void **state)
{
    (void)state;
    for (int a = 0; a < SL_PHONE_COUNT; a++) {
        for (int b = 0; b < SL_PHONE_COUNT; b++) {
            int cost = sl_phone_cost(a, b);
            assert_int_equal(cost, sl_phone_cost(b, a));
            assert_int_equal(cost == 0, a == b);
            assert_in_range(cost, 0, SL_PHONE_WHOLE);
            for (int c = 0; c < SL_PHONE_COUNT; c++) {
                assert_true(cost <= sl_phone_cost(a, c) + sl_phone_cost(c, b));
            }
        }
    }
}

/* The order is that of Miller and Nicely 1955 (from memory): consonants that differ in place alone
 * are confused more than those that differ in voice or in manner. */
static void nearer_phones_cost_less(void **state)
{
    (void)state;
    static const struct {
        const char *phone, *near, *far;
    } rows[] = {
        {"P", "T", "B"}, {"P", "T", "M"},   {"F", "TH", "V"},   {"S", "SH", "Z"},
        {"M", "N", "B"}, {"B", "D", "S"},   {"IH", "IY", "AA"}, {"AH", "EH", "IY"},
        {"D", "T", "L"}, {"AA", "AO", "K"}, {"EH", "AE", "UW"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int near = sl_phone_cost(phone(rows[i].phone), phone(rows[i].near));
        int far = sl_phone_cost(phone(rows[i].phone), phone(rows[i].far));
        if (near >= far) {
            fail_msg("%s: %s %d, %s %d", rows[i].phone, rows[i].near, near, rows[i].far, far);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(phones_are_found_by_name),
        cmocka_unit_test(costs_are_a_distance),
        cmocka_unit_test(nearer_phones_cost_less),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
