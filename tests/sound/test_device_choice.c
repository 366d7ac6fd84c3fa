#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "sound/device_choice.h"

#include <string.h>

static struct sl_device devices[] = {
    {.index = 0, .name = "Built-in", .host = "A", .in_channels = 2, .out_channels = 2},
    {.index = 1,
     .name = "Headset left",
     .host = "A",
     .in_channels = 1,
     .out_channels = 2,
     .default_output = true},
    {.index = 2, .name = "Headset right", .host = "B", .in_channels = 1, .default_input = true},
    {.index = 7, .name = "Headset", .host = "B", .out_channels = 1},
};

static void a_name_a_number_or_a_part_means_a_device(void **state)
{
    (void)state;
    const struct sl_device_list list = {devices, sizeof devices / sizeof *devices};
    static const struct {
        const char *name;
        enum sl_device_side side;
        const char *wanted;
        enum sl_status status;
        int index;
    } rows[] = {
        {"default input", SL_DEVICE_INPUT, NULL, SL_OK, 2},
        {"default output", SL_DEVICE_OUTPUT, NULL, SL_OK, 1},
        {"number", SL_DEVICE_INPUT, "0", SL_OK, 0},
        {"number of another", SL_DEVICE_OUTPUT, "7", SL_OK, 7},
        {"number without the side", SL_DEVICE_OUTPUT, "2", SL_NOT_FOUND, 0},
        {"number of none", SL_DEVICE_INPUT, "3", SL_NOT_FOUND, 0},
        {"whole name", SL_DEVICE_INPUT, "Built-in", SL_OK, 0},
        {"whole name that is a part of others", SL_DEVICE_OUTPUT, "Headset", SL_OK, 7},
        {"part in small letters", SL_DEVICE_INPUT, "t righ", SL_OK, 2},
        {"part of two", SL_DEVICE_INPUT, "headset", SL_INVALID, 0},
        {"part of none", SL_DEVICE_INPUT, "piano", SL_NOT_FOUND, 0},
        {"nothing", SL_DEVICE_INPUT, "", SL_NOT_FOUND, 0},
        {"a minus", SL_DEVICE_INPUT, "-1", SL_NOT_FOUND, 0},
        {"too large a number", SL_DEVICE_INPUT, "99999999999999999999", SL_NOT_FOUND, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        print_message("%s\n", rows[i].name);
        const struct sl_device *found = NULL;
        struct sl_error error = {0};
        assert_int_equal(sl_device_find(&list, rows[i].side, rows[i].wanted, &found, &error),
                         rows[i].status);
        if (rows[i].status == SL_OK) {
            assert_int_equal(found->index, rows[i].index);
        } else {
            assert_null(found);
            assert_non_null(error.mend);
        }
        sl_error_clear(&error);
    }
}

static void the_devices_that_a_part_may_mean_are_named(void **state)
{
    (void)state;
    const struct sl_device_list list = {devices, sizeof devices / sizeof *devices};
    const struct sl_device *found = NULL;
    struct sl_error error = {0};
    assert_int_equal(sl_device_find(&list, SL_DEVICE_INPUT, "HEAD", &found, &error), SL_INVALID);
    assert_string_equal(error.mend,
                        "choose one by its number: 1 (Headset left), 2 (Headset right)");
    sl_error_clear(&error);
}

static void no_device_and_no_default_are_said_so(void **state)
{
    (void)state;
    const struct sl_device *found = NULL;
    struct sl_error error = {0};
    const struct sl_device_list none = {0};
    assert_int_equal(sl_device_find(&none, SL_DEVICE_INPUT, "x", &found, &error), SL_DEVICE);
    assert_string_equal(error.what, "no sound device was found");
    const struct sl_device_list deaf = {devices, 2};
    assert_int_equal(sl_device_find(&deaf, SL_DEVICE_INPUT, NULL, &found, &error), SL_DEVICE);
    assert_string_equal(error.what, "no microphone was found");
    sl_error_clear(&error);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_name_a_number_or_a_part_means_a_device),
        cmocka_unit_test(the_devices_that_a_part_may_mean_are_named),
        cmocka_unit_test(no_device_and_no_default_are_said_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
