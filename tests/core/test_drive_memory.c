/*
 * A drive whose memory runs out: every allocation is made to fail in turn
 * (support/failing_memory.h); the sanitizer sees what is not given back.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/drive_fixture.h"
#include "support/failing_memory.h"

static enum sl_status drive_and_change(struct drive_fixture *f)
{
    struct sl_error error = {0};
    struct sl_drive drive = {0};
    struct sl_drive_change change = {0};
    enum sl_status status = sl_drive_make(&f->driving, &drive, &error);
    assert_true(status == SL_OK || drive.n_samples == 0);
    if (status == SL_OK) {
        status = sl_drive_one_change(&f->driving, &drive, &change, &error);
    }
    sl_drive_clear(&drive);
    sl_error_clear(&error);
    return status;
}

static enum sl_status drive_otherwise(struct drive_fixture *f)
{
    const struct sl_settings said = {.gear = 5};
    struct sl_error error = {0};
    struct sl_consequence told = {0};
    enum sl_status status = sl_drive_with_setting(&f->driving, SL_SET_GEAR, &said, &told, &error);
    assert_true((status == SL_OK) == (told.what != NULL));
    free(told.what);
    free(told.reason);
    sl_error_clear(&error);
    return status;
}

/* Works with more and more memory, until it goes through; that takes more than `least` allocations.
 */
static void check_all(struct drive_fixture *f, enum sl_status (*work)(struct drive_fixture *),
                      size_t least)
{
    size_t n = 0;
    bool failed = true;
    for (; failed; n++) {
        allowed = (long)n;
        enum sl_status status = work(f);
        failed = allowed < 0;
        allowed = -1;
        assert_int_equal(status, failed ? SL_NO_MEMORY : SL_OK);
    }
    assert_true(n > least);
}

static void a_drive_gives_everything_back(void **state)
{
    (void)state;
    struct drive_fixture f;
    fixture_make(&f);
    f.words = script_heard(&f.routine, "signal left @8; speed 10 @11; gear 3 up @20");
    check_all(&f, drive_and_change, 30);
    check_all(&f, drive_otherwise, 10);
    fixture_clear(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_drive_gives_everything_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
