/* Speech that no phrase covers, as it may have been one. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/findings.h"

#define N_FRAMES ((size_t)600)

static float level_db[N_FRAMES];

static struct sl_findings silence(bool noisy)
{
    for (size_t f = 0; f < N_FRAMES; f++) {
        level_db[f] = -60;
    }
    return (struct sl_findings){.noisy = noisy,
                                .activity = {.level_db = level_db,
                                             .n_frames = N_FRAMES,
                                             .noise_db = -60,
                                             .speech_db = -20,
                                             .snr_db = 40}};
}

static void loud(size_t first, size_t end)
{
    for (size_t f = first; f < end; f++) {
        level_db[f] = -20;
    }
}

static void bursts_of_the_right_length_come_one_by_one(void **state)
{
    (void)state;
    struct sl_findings findings = silence(false);
    loud(10, 30);   /* too short */
    loud(100, 130); /* one with the next, as less than 0.3 s lies between */
    loud(150, 190);
    loud(250, 470); /* too long: about something else */
    loud(520, 570);
    size_t from = 0;
    struct sl_burst burst;
    assert_true(sl_findings_burst(&findings, &from, N_FRAMES, &burst));
    assert_int_equal(burst.first, 100);
    assert_int_equal(burst.end, 190);
    assert_true(sl_findings_burst(&findings, &from, N_FRAMES, &burst));
    assert_int_equal(burst.first, 520);
    assert_int_equal(burst.end, 570);
    assert_false(sl_findings_burst(&findings, &from, N_FRAMES, &burst));
    from = 0;
    assert_false(sl_findings_burst(&findings, &from, 140, &burst)); /* only 0.3 s before it */
}

static void in_noise_less_is_enough_and_nothing_too_long(void **state)
{
    (void)state;
    struct sl_findings findings = silence(true);
    loud(100, 121);
    loud(250, 500);
    size_t from = 0;
    struct sl_burst burst;
    assert_true(sl_findings_burst(&findings, &from, N_FRAMES, &burst));
    assert_int_equal(burst.end, 121);
    assert_true(sl_findings_burst(&findings, &from, N_FRAMES, &burst));
    assert_int_equal(burst.end, 500);
}

static void nothing_stands_out_of_noise_or_of_next_to_nothing(void **state)
{
    (void)state;
    struct sl_findings findings = silence(true);
    loud(100, 200);
    size_t from = 0;
    struct sl_burst burst;
    findings.activity.snr_db = 5;
    assert_false(sl_findings_burst(&findings, &from, N_FRAMES, &burst));
    findings.activity.snr_db = 40;
    findings.activity.speech_db = -70;
    assert_false(sl_findings_burst(&findings, &from, N_FRAMES, &burst));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bursts_of_the_right_length_come_one_by_one),
        cmocka_unit_test(in_noise_less_is_enough_and_nothing_too_long),
        cmocka_unit_test(nothing_stands_out_of_noise_or_of_next_to_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
