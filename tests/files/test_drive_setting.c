/* What a drive tells of one setting that is not the right one, against whole drives with it. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/units.h"
#include "support/planned_words.h"

#include <string.h>

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))
#define MPH(mph) ((mph)*0.44704)

static const struct row {
    const char *junction;
    enum sl_setting part;
    struct sl_settings said;
    const char *consequence; /* NULL: the model finds no difference */
} rows[] = {
    {"t-left-open", SL_SET_SPEED, {.speed_mps = MPH(20)}, "too-fast"},
    {"t-left-open", SL_SET_SPEED, {.speed_mps = MPH(5)}, "too-slow"},
    {"t-left-closed", SL_SET_SPEED, {.speed_mps = MPH(10)}, "too-fast"},
    {"t-left-open", SL_SET_GEAR, {.gear = 1}, "jolt"},
    {"t-left-open", SL_SET_GEAR, {.gear = 3}, "judder"},
    {"t-left-open", SL_SET_GEAR, {.gear = 5}, "stall"},
    {"t-left-open", SL_SET_CLUTCH, {.clutch = SL_CLUTCH_DOWN}, "coasting"},
    {"t-left-closed", SL_SET_CLUTCH, {.clutch = SL_CLUTCH_UP}, "clutch-up-at-line"},
    /* At a walking pace the engine labours in second gear, and more does not go. */
    {"t-left-closed", SL_SET_GEAR, {.gear = 2}, "judder"},
    {"t-left-closed", SL_SET_GEAR, {.gear = 3}, "stall"},
    /* Too fast is more to the point than that it slowed late. */
    {"t-left-open", SL_SET_SPEED, {.speed_mps = MPH(30)}, "too-fast"},
    {"t-left-open", SL_SET_GEAR, {.gear = 2}, NULL},
    {"t-left-open", SL_SET_SPEED, {.speed_mps = MPH(10)}, NULL},
    /* Of an answer only the part that is asked about is driven. */
    {"t-left-open", SL_SET_GEAR, {.gear = 2, .speed_mps = MPH(20)}, NULL},
    {"t-left-open", SL_SET_SPEED, {.gear = 5, .speed_mps = MPH(20)}, "too-fast"},
};

/* The planned words with the row's setting among them, driven as a whole. */
static uint64_t came_of(struct planned *planned, const struct row *row)
{
    struct sl_drive drive = {0};
    const struct sl_settings other = sl_settings_only(&row->said, (unsigned)row->part);
    for (size_t i = 0; i < planned->routine.n_phases; i++) {
        struct sl_settings said = planned_right(planned, i);
        if ((sl_settings_named(&said) & (unsigned)row->part) != 0) {
            sl_settings_merge(&said, &other);
        }
        planned_say(planned, i, planned->plan.windows[i].due_s, &said);
    }
    assert_int_equal(sl_drive_make(&planned->driving, &drive, NULL), SL_OK);
    uint64_t all = sl_drive_came_of(&drive);
    sl_drive_clear(&drive);
    return all;
}

static void one_wrong_setting_has_the_consequence_of_its_drive(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        const struct row *row = &rows[i];
        struct planned planned;
        struct sl_consequence told = {0};
        assert_true(planned_load(&planned, row->junction, "decide-last", "small-petrol"));
        assert_int_equal(
            sl_drive_with_setting(&planned.driving, row->part, &row->said, &told, NULL), SL_OK);
        uint64_t all = came_of(&planned, row);
        const char *word = told.what == NULL ? "none" : sl_consequence_word(told.kind);
        const char *wanted = row->consequence == NULL ? "none" : row->consequence;
        bool of_drive = told.what == NULL || (all & SL_CAME_OF(told.kind)) != 0;
        if (strcmp(word, wanted) != 0 || !of_drive) {
            fail_msg("%s, row %zu: %s, not %s", row->junction, i, word, wanted);
        }
        free(told.what);
        free(told.reason);
        planned_clear(&planned);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_wrong_setting_has_the_consequence_of_its_drive),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
