/*
 * Damaged junctions, routines and cars: whatever is done to the text of a shipped file, reading it
 * ends, with something that passes its check or with an answer that names the place.
 */
#include "files/models.h"

#include "mutate.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#define ROOM 65536

static size_t read_file(const char *path, unsigned char *to)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    size_t n = fread(to, 1, ROOM - 1, file);
    fclose(file);
    assert_true(n > 50 && n < ROOM - 1);
    return n;
}

static enum sl_status parse_junction(const char *text, struct sl_error *error)
{
    struct sl_junction junction = {0};
    enum sl_status status = sl_parse_junction(text, "damaged", &junction, error);
    assert_true(status != SL_OK || sl_junction_check(&junction, NULL) == SL_OK);
    sl_junction_clear(&junction);
    return status;
}

static enum sl_status parse_routine(const char *text, struct sl_error *error)
{
    struct sl_routine routine = {0};
    enum sl_status status = sl_parse_routine(text, "damaged", &routine, error);
    assert_true(status != SL_OK || sl_routine_check(&routine, NULL) == SL_OK);
    sl_routine_clear(&routine);
    return status;
}

static enum sl_status parse_car(const char *text, struct sl_error *error)
{
    struct sl_car car = {0};
    enum sl_status status = sl_parse_car(text, "damaged", &car, error);
    assert_true(status != SL_OK || sl_car_check(&car, NULL) == SL_OK);
    sl_car_clear(&car);
    return status;
}

/* Marks that mean something in YAML or in a phrase, put in here and there. */
static void sprinkle(uint64_t *state, struct bytes *bytes)
{
    static const char marks[] = "[]{}()<>|&*!%#-:?,\"'\n\t\\~@`=\x01\x7f\xc3\xff";
    size_t times = random_below(state, 4);
    for (size_t i = 0; i < times && bytes->n > 0; i++) {
        bytes->at[random_below(state, bytes->n)] =
            (unsigned char)marks[random_below(state, sizeof marks - 1)];
    }
}

struct damage {
    const char *path;
    enum sl_status (*parse)(const char *text, struct sl_error *error);
    size_t rounds;
};

/* Parses the file damaged in `rounds` ways; the number of times that it was still good. */
static size_t parse_damaged(const struct damage *damage)
{
    struct bytes whole = {malloc(ROOM), 0, ROOM};
    struct bytes damaged = {malloc(ROOM), 0, ROOM};
    assert_non_null(whole.at);
    assert_non_null(damaged.at);
    whole.n = read_file(damage->path, whole.at);
    size_t good = 0;
    for (uint64_t round = 0; round < damage->rounds; round++) {
        uint64_t drawn = round;
        memcpy(damaged.at, whole.at, whole.n);
        damaged.n = whole.n;
        sprinkle(&drawn, &damaged);
        mutate(&drawn, &damaged, whole.n);
        damaged.n = damaged.n < ROOM ? damaged.n : ROOM - 1;
        damaged.at[damaged.n] = '\0';
        struct sl_error error = {0};
        enum sl_status status = damage->parse((const char *)damaged.at, &error);
        good += status == SL_OK ? 1 : 0;
        if (status != SL_OK) {
            assert_non_null(error.what);
            assert_non_null(error.where);
            assert_int_equal(strncmp(error.where, "damaged", 7), 0);
        }
        sl_error_clear(&error);
    }
    free(whole.at);
    free(damaged.at);
    print_message("%zu of %zu still good\n", good, damage->rounds);
    return good;
}

static void damaged_junctions_are_read_or_refused(void **state)
{
    (void)state;
    const struct damage damage = {SL_SOURCE_DIR "/models/junctions/example-measured.yaml",
                                  parse_junction, 20000};
    assert_in_range(parse_damaged(&damage), 1, damage.rounds - 1);
}

static void damaged_cars_are_read_or_refused(void **state)
{
    (void)state;
    const struct damage damage = {SL_SOURCE_DIR "/models/cars/small-petrol.yaml", parse_car, 20000};
    assert_in_range(parse_damaged(&damage), 1, damage.rounds - 1);
}

static void damaged_routines_are_read_or_refused(void **state)
{
    (void)state;
    const struct damage damage = {SL_SOURCE_DIR "/models/routines/decide-last.yaml", parse_routine,
                                  2000};
    assert_in_range(parse_damaged(&damage), 1, damage.rounds - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(damaged_junctions_are_read_or_refused),
        cmocka_unit_test(damaged_cars_are_read_or_refused),
        cmocka_unit_test(damaged_routines_are_read_or_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
