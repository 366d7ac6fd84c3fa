#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/settings.h"
#include "core/units.h"

#include <stdlib.h>
#include <string.h>

static struct sl_settings full_settings(void)
{
    return (struct sl_settings){.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_RIGHT},
                                .n_mirrors = 2,
                                .signal = SL_SIGNAL_RIGHT,
                                .speed_mps = sl_mps_from_mph(10),
                                .gear = 2,
                                .clutch = SL_CLUTCH_UP,
                                .decision = SL_DECISION_GO,
                                .position = SL_POSITION_AHEAD};
}

static void every_word_leads_back_to_its_value(void **state)
{
    (void)state;
    for (int i = SL_MIRROR_INTERIOR; i <= SL_MIRROR_RIGHT; i++) {
        assert_int_equal(sl_mirror_from_word(sl_mirror_word((enum sl_mirror)i)), i);
    }
    for (int i = SL_SIGNAL_LEFT; i <= SL_SIGNAL_NONE; i++) {
        assert_int_equal(sl_signal_from_word(sl_signal_word((enum sl_signal)i)), i);
    }
    for (int i = SL_CLUTCH_UP; i <= SL_CLUTCH_DOWN; i++) {
        assert_int_equal(sl_clutch_from_word(sl_clutch_word((enum sl_clutch)i)), i);
    }
    for (int i = SL_DECISION_GO; i <= SL_DECISION_WAIT; i++) {
        assert_int_equal(sl_decision_from_word(sl_decision_word((enum sl_decision)i)), i);
    }
    for (int i = SL_POSITION_LEFT; i <= SL_POSITION_AHEAD; i++) {
        assert_int_equal(sl_position_from_word(sl_position_word((enum sl_position)i)), i);
    }
}

static void words_are_those_of_the_files(void **state)
{
    (void)state;
    assert_string_equal(sl_mirror_word(SL_MIRROR_INTERIOR), "interior");
    assert_string_equal(sl_signal_word(SL_SIGNAL_NONE), "none");
    assert_string_equal(sl_clutch_word(SL_CLUTCH_DOWN), "down");
    assert_string_equal(sl_decision_word(SL_DECISION_WAIT), "wait");
    assert_string_equal(sl_position_word(SL_POSITION_LEFT), "left");
}

static void unsaid_and_nonsense_have_no_word(void **state)
{
    (void)state;
    assert_null(sl_mirror_word(SL_MIRROR_UNSAID));
    assert_null(sl_signal_word(SL_SIGNAL_UNSAID));
    assert_null(sl_clutch_word(SL_CLUTCH_UNSAID));
    assert_null(sl_decision_word(SL_DECISION_UNSAID));
    assert_null(sl_position_word(SL_POSITION_UNSAID));
    assert_null(sl_mirror_word((enum sl_mirror)99));
    assert_int_equal(sl_mirror_from_word("door"), SL_MIRROR_UNSAID);
    assert_int_equal(sl_signal_from_word(""), SL_SIGNAL_UNSAID);
    assert_int_equal(sl_clutch_from_word("UP"), SL_CLUTCH_UNSAID);
    assert_int_equal(sl_decision_from_word("stop"), SL_DECISION_UNSAID);
    assert_int_equal(sl_position_from_word("centre"), SL_POSITION_UNSAID);
}

static void keys_and_bits_go_both_ways(void **state)
{
    (void)state;
    static const char *const keys[] = {"mirrors", "signal",   "speed_mph", "gear",
                                       "clutch",  "decision", "position"};
    unsigned all = 0;
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        unsigned bit = sl_setting_from_key(keys[i]);
        assert_int_equal(bit, 1U << i);
        assert_string_equal(sl_setting_key((enum sl_setting)bit), keys[i]);
        all |= bit;
    }
    assert_int_equal(all, SL_SET_ALL);
    assert_int_equal(sl_setting_from_key("speed"), 0);
    assert_null(sl_setting_key(SL_SET_ALL));
    assert_null(sl_setting_key((enum sl_setting)0));
    assert_null(sl_setting_key((enum sl_setting)(1 << 7)));
}

static void named_names_each_setting_alone(void **state)
{
    (void)state;
    struct sl_settings none = {0};
    struct sl_settings full = full_settings();
    assert_int_equal(sl_settings_named(&none), 0);
    assert_int_equal(sl_settings_named(&full), SL_SET_ALL);
    for (unsigned bit = 1; bit < SL_SET_ALL; bit <<= 1) {
        struct sl_settings one = sl_settings_only(&full, bit);
        assert_int_equal(sl_settings_named(&one), bit);
    }
}

static void a_mirror_is_added_once_in_the_order_said(void **state)
{
    (void)state;
    struct sl_settings settings = {0};
    sl_settings_add_mirror(&settings, SL_MIRROR_LEFT);
    sl_settings_add_mirror(&settings, SL_MIRROR_UNSAID);
    sl_settings_add_mirror(&settings, SL_MIRROR_INTERIOR);
    sl_settings_add_mirror(&settings, SL_MIRROR_LEFT);
    assert_int_equal(settings.n_mirrors, 2);
    assert_int_equal(settings.mirrors[0], SL_MIRROR_LEFT);
    assert_int_equal(settings.mirrors[1], SL_MIRROR_INTERIOR);
    sl_settings_add_mirror(&settings, SL_MIRROR_RIGHT);
    sl_settings_add_mirror(&settings, (enum sl_mirror)7);
    assert_int_equal(settings.n_mirrors, 3);
}

static void merging_joins_mirrors_and_lets_the_later_value_win(void **state)
{
    (void)state;
    struct sl_settings into = {.mirrors = {SL_MIRROR_INTERIOR}, .n_mirrors = 1, .gear = 1};
    struct sl_settings more = {.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT},
                               .n_mirrors = 2,
                               .gear = 2,
                               .clutch = SL_CLUTCH_UP};
    sl_settings_merge(&into, &more);
    struct sl_settings both = more;
    assert_true(sl_settings_equal(&into, &both));
    struct sl_settings full = full_settings();
    struct sl_settings none = {0};
    struct sl_settings before = full;
    sl_settings_merge(&full, &none);
    assert_true(sl_settings_equal(&full, &before));
    sl_settings_merge(&none, &before);
    assert_true(sl_settings_equal(&none, &before));
}

static void only_and_the_rest_make_the_whole(void **state)
{
    (void)state;
    struct sl_settings full = full_settings();
    for (unsigned keep = 0; keep <= SL_SET_ALL; keep++) {
        struct sl_settings kept = sl_settings_only(&full, keep);
        struct sl_settings rest = sl_settings_only(&full, SL_SET_ALL & ~keep);
        assert_int_equal(sl_settings_named(&kept), keep);
        sl_settings_merge(&kept, &rest);
        assert_true(sl_settings_equal(&kept, &full));
    }
}

static void equal_sees_a_difference_in_each_setting(void **state)
{
    (void)state;
    struct sl_settings full = full_settings();
    for (unsigned bit = 1; bit < SL_SET_ALL; bit <<= 1) {
        struct sl_settings without = sl_settings_only(&full, SL_SET_ALL & ~bit);
        assert_false(sl_settings_equal(&full, &without));
    }
    struct sl_settings turned = full;
    turned.mirrors[0] = SL_MIRROR_RIGHT;
    turned.mirrors[1] = SL_MIRROR_INTERIOR;
    assert_false(sl_settings_equal(&full, &turned));
    struct sl_settings rounded = full;
    rounded.speed_mps = 4.4704000001; /* 10 mph that went through a conversion */
    assert_true(sl_settings_equal(&full, &rounded));
    rounded.speed_mps = sl_mps_from_mph(10.1);
    assert_false(sl_settings_equal(&full, &rounded));
}

static void words_for_people(void **state)
{
    (void)state;
    static const struct {
        struct sl_settings settings;
        const char *words;
    } rows[] = {
        {{.gear = 0}, ""},
        {{.mirrors = {SL_MIRROR_INTERIOR}, .n_mirrors = 1}, "interior mirror"},
        {{.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT}, .n_mirrors = 2},
         "interior and left mirror"},
        {{.mirrors = {SL_MIRROR_RIGHT, SL_MIRROR_LEFT, SL_MIRROR_INTERIOR}, .n_mirrors = 3},
         "right, left and interior mirror"},
        {{.signal = SL_SIGNAL_LEFT}, "signal left"},
        {{.signal = SL_SIGNAL_NONE}, "no signal"},
        {{.speed_mps = 10 * SL_MPS_PER_MPH}, "10 mph"},
        {{.speed_mps = 4.5 * SL_MPS_PER_MPH}, "4.5 mph"},
        {{.gear = 2, .clutch = SL_CLUTCH_UP}, "second gear, clutch up"},
        {{.gear = 6}, "sixth gear"},
        {{.gear = 7}, "gear 7"},
        {{.decision = SL_DECISION_WAIT}, "wait"},
        {{.position = SL_POSITION_LEFT, .signal = SL_SIGNAL_LEFT}, "signal left, position left"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *words = sl_settings_words(&rows[i].settings);
        assert_non_null(words);
        assert_string_equal(words, rows[i].words);
        free(words);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_word_leads_back_to_its_value),
        cmocka_unit_test(words_are_those_of_the_files),
        cmocka_unit_test(unsaid_and_nonsense_have_no_word),
        cmocka_unit_test(keys_and_bits_go_both_ways),
        cmocka_unit_test(named_names_each_setting_alone),
        cmocka_unit_test(a_mirror_is_added_once_in_the_order_said),
        cmocka_unit_test(merging_joins_mirrors_and_lets_the_later_value_win),
        cmocka_unit_test(only_and_the_rest_make_the_whole),
        cmocka_unit_test(equal_sees_a_difference_in_each_setting),
        cmocka_unit_test(words_for_people),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
