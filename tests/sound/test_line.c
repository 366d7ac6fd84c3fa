#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "sound/clock.h"
#include "sound/line.h"

#include "support/near.h"
#include "support/sweep.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#define RATE SL_SOUND_RATE_HZ
#define BLOCK 512

static struct sl_line *new_line(double rate_hz)
{
    struct sl_line *line = NULL;
    assert_int_equal(sl_line_new(rate_hz, &line, NULL), SL_OK);
    sl_line_start(line);
    return line;
}

/* A device that plays what it gets into `out` and captures `in` (NULL: silence). */
static void exchange(struct sl_line *line, const int16_t *in, int16_t *out, size_t n)
{
    struct sl_exchange turn = {.in = in, .out = out, .n = n};
    sl_line_exchange(line, &turn);
}

static void frames_keep_their_numbers_when_written_in_time(void **state)
{
    (void)state;
    struct sl_line *line = new_line(RATE);
    int16_t numbers[4 * BLOCK];
    for (size_t i = 0; i < 4 * BLOCK; i++) {
        numbers[i] = (int16_t)(i + 1);
    }
    assert_int_equal(sl_line_write(line, numbers, 4 * BLOCK), 4 * BLOCK);
    for (size_t at = 0; at < 4 * BLOCK; at += BLOCK) {
        int16_t out[BLOCK];
        int16_t heard[BLOCK];
        exchange(line, numbers + at, out, BLOCK);
        assert_memory_equal(out, numbers + at, sizeof out);
        assert_int_equal(sl_line_wait(line, BLOCK, 0), BLOCK);
        assert_int_equal(sl_line_read(line, heard, BLOCK), BLOCK);
        assert_memory_equal(heard, numbers + at, sizeof heard);
    }
    struct sl_endpoint_facts facts = sl_line_facts(line);
    assert_int_equal(facts.captured, 4 * BLOCK);
    assert_int_equal(facts.played, 4 * BLOCK);
    assert_int_equal(facts.starved, 0);
    assert_int_equal(facts.lost, 0);
    sl_line_free(line);
}

static void frames_written_too_late_are_skipped_and_the_rest_keep_their_numbers(void **state)
{
    (void)state;
    struct sl_line *line = new_line(RATE);
    int16_t numbers[3 * BLOCK];
    for (size_t i = 0; i < 3 * BLOCK; i++) {
        numbers[i] = (int16_t)(i + 1);
    }
    int16_t out[BLOCK];
    assert_int_equal(sl_line_write(line, numbers, 100), 100);
    exchange(line, NULL, out, BLOCK);
    assert_int_equal(out[99], 100);
    assert_int_equal(out[100], 0);
    assert_int_equal(sl_line_facts(line).starved, BLOCK - 100);
    assert_int_equal(sl_line_write(line, numbers + 100, 3 * BLOCK - 100), 3 * BLOCK - 100);
    exchange(line, NULL, out, BLOCK);
    assert_memory_equal(out, numbers + BLOCK, sizeof out);
    exchange(line, NULL, out, BLOCK);
    assert_memory_equal(out, numbers + 2 * BLOCK, sizeof out);
    assert_int_equal(sl_line_facts(line).starved, BLOCK - 100);
    sl_line_free(line);
}

static void frames_fetched_too_late_are_silence_and_the_rest_keep_their_numbers(void **state)
{
    (void)state;
    struct sl_line *line = new_line(RATE);
    int16_t in[BLOCK];
    int16_t out[BLOCK];
    size_t n_blocks = 0;
    /* Every frame says which block it is of. */
    for (; sl_line_facts(line).lost == 0; n_blocks++) {
        for (size_t i = 0; i < BLOCK; i++) {
            in[i] = (int16_t)(n_blocks + 1);
        }
        exchange(line, in, out, BLOCK);
        assert_true(n_blocks < 1000);
    }
    /* The user is back: reads all there is, then keeps up. */
    int16_t heard[BLOCK];
    size_t next = 0;
    size_t silent = 0;
    for (size_t turn = 0; turn < 20; turn++, n_blocks++) {
        for (size_t n = sl_line_read(line, heard, BLOCK); n > 0;
             n = sl_line_read(line, heard, BLOCK)) {
            for (size_t i = 0; i < n; i++, next++) {
                silent += heard[i] == 0;
                assert_true(heard[i] == 0 || (size_t)heard[i] == next / BLOCK + 1);
            }
        }
        for (size_t i = 0; i < BLOCK; i++) {
            in[i] = (int16_t)(n_blocks + 1);
        }
        exchange(line, in, out, BLOCK);
    }
    assert_int_equal(next, (n_blocks - 1) * BLOCK);
    assert_true(silent > 0);
    assert_int_equal(sl_line_facts(line).lost, silent);
    sl_line_free(line);
}

static void the_offset_is_the_median_of_the_stamps_and_is_taken_anew_after_a_break(void **state)
{
    (void)state;
    struct sl_line *line = new_line(RATE);
    int16_t out[16];
    for (size_t i = 0; i < 60; i++) {
        assert_false(i < 36 && sl_line_facts(line).offset_known);
        double jitter = i % 3 == 0 ? 0.004 : i % 3 == 1 ? -0.004 : 0;
        struct sl_exchange turn = {.out = out, .n = 16, .offset_s = i < 4 ? 0.001 : 0.13 + jitter};
        sl_line_exchange(line, &turn);
    }
    struct sl_endpoint_facts facts = sl_line_facts(line);
    assert_true(facts.offset_known);
    assert_near(facts.offset_s, 0.13, 1e-9);
    for (size_t i = 0; i < 60; i++) {
        struct sl_exchange turn = {.out = out, .n = 16, .offset_s = 0.2, .interrupted = i == 0};
        sl_line_exchange(line, &turn);
        facts = sl_line_facts(line);
    }
    assert_int_equal(facts.xruns, 1);
    assert_near(facts.offset_s, 0.2, 1e-9);
    sl_line_free(line);
}

static void a_device_that_says_nothing_is_stalled_and_one_that_ends_is_gone(void **state)
{
    (void)state;
    struct sl_line *line = NULL;
    int16_t out[BLOCK];
    assert_int_equal(sl_line_new(RATE, &line, NULL), SL_OK);
    assert_int_equal(sl_line_facts(line).state, SL_ENDPOINT_READY);
    sl_line_start(line);
    exchange(line, NULL, out, BLOCK);
    assert_int_equal(sl_line_facts(line).state, SL_ENDPOINT_RUNNING);
    sl_clock_sleep_s(0.8);
    assert_int_equal(sl_line_facts(line).state, SL_ENDPOINT_RUNNING);
    sl_clock_sleep_s(0.3);
    assert_int_equal(sl_line_facts(line).state, SL_ENDPOINT_STALLED);
    exchange(line, NULL, out, BLOCK);
    assert_int_equal(sl_line_facts(line).state, SL_ENDPOINT_RUNNING);
    sl_line_finish(line);
    assert_int_equal(sl_line_facts(line).state, SL_ENDPOINT_GONE);
    /* What was captured can still be read, and nobody waits for more. */
    double from_s = sl_clock_s();
    assert_int_equal(sl_line_wait(line, 100 * BLOCK, 5), 2 * BLOCK);
    assert_true(sl_clock_s() - from_s < 1);
    sl_line_again(line);
    assert_int_equal(sl_line_facts(line).state, SL_ENDPOINT_RUNNING);
    exchange(line, NULL, out, BLOCK);
    assert_int_equal(sl_line_wait(line, 3 * BLOCK, 5), 3 * BLOCK);
    sl_line_stop(line);
    assert_int_equal(sl_line_facts(line).state, SL_ENDPOINT_STOPPED);
    sl_line_free(line);
}

/* A device at another rate: sweeps come through both ways at the frame they were put at. */
static void a_device_of_another_rate_keeps_the_numbers_too(void **state)
{
    (void)state;
    static const double rates_hz[] = {8000, 44100, 48000, 96000};
    for (size_t r = 0; r < sizeof rates_hz / sizeof *rates_hz; r++) {
        struct sl_line *line = new_line(rates_hz[r]);
        size_t n = (size_t)4 * RATE;
        size_t block = (size_t)(rates_hz[r] / 50);
        int16_t *play = calloc(n, sizeof *play);
        int16_t *heard = calloc(n, sizeof *heard);
        int16_t *device = calloc(block, sizeof *device);
        assert_true(play != NULL && heard != NULL && device != NULL);
        sweep_add(play + RATE, 8000);
        sweep_add(play + (size_t)5 * RATE / 2, 8000);
        size_t written = 0;
        size_t n_heard = 0;
        /* A wire from the speaker to the microphone: one block late. */
        for (size_t turn = 0; turn < 190; turn++) {
            size_t ahead = n - written < RATE / 10 ? n - written : RATE / 10;
            written += sl_line_write(line, play + written, ahead);
            exchange(line, device, device, block);
            n_heard += sl_line_read(line, heard + n_heard, n - n_heard);
        }
        struct sl_endpoint_facts facts = sl_line_facts(line);
        assert_near((double)facts.captured, 190 * RATE / 50.0, 1);
        assert_int_equal(facts.starved, 0);
        assert_int_equal(facts.lost, 0);
        long first = sweep_find(heard, n_heard, RATE - 800, RATE + 1600);
        long second = sweep_find(heard, n_heard, 5 * RATE / 2 - 800, 5 * RATE / 2 + 1600);
        print_message("%g Hz: found at %ld and %ld\n", rates_hz[r], first, second);
        assert_in_range(first, RATE + RATE / 50 - 8, RATE + RATE / 50 + 8);
        assert_in_range(second - first, 3 * RATE / 2 - 1, 3 * RATE / 2 + 1);
        free(play);
        free(heard);
        free(device);
        sl_line_free(line);
    }
}

static void rates_of_no_device_are_refused(void **state)
{
    (void)state;
    struct sl_line *line = NULL;
    static const double rates_hz[] = {0, -1, 7999, 400000, NAN};
    for (size_t i = 0; i < sizeof rates_hz / sizeof *rates_hz; i++) {
        assert_int_equal(sl_line_new(rates_hz[i], &line, NULL), SL_UNSUPPORTED);
    }
    sl_line_free(NULL);
}

static void *call_back(void *user)
{
    struct sl_line *line = user;
    int16_t in[160];
    int16_t out[160];
    for (int16_t turn = 0; turn < 2000; turn++) {
        for (size_t i = 0; i < 160; i++) {
            in[i] = turn;
        }
        exchange(line, in, out, 160);
    }
    sl_line_finish(line);
    return NULL;
}

static void a_callback_in_another_thread_passes_every_frame(void **state)
{
    (void)state;
    struct sl_line *line = new_line(RATE);
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, call_back, line), 0);
    int16_t heard[BLOCK];
    size_t next = 0;
    size_t wrong = 0;
    while (next < (size_t)2000 * 160) {
        sl_line_wait(line, 1, 1);
        size_t n = sl_line_read(line, heard, BLOCK);
        for (size_t i = 0; i < n; i++, next++) {
            wrong += heard[i] != 0 && (size_t)heard[i] != next / 160;
        }
        if (sl_line_facts(line).lost > 0 ||
            (n == 0 && sl_line_facts(line).state != SL_ENDPOINT_RUNNING)) {
            break;
        }
    }
    pthread_join(thread, NULL);
    assert_int_equal(wrong, 0);
    sl_line_free(line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_keep_their_numbers_when_written_in_time),
        cmocka_unit_test(frames_written_too_late_are_skipped_and_the_rest_keep_their_numbers),
        cmocka_unit_test(frames_fetched_too_late_are_silence_and_the_rest_keep_their_numbers),
        cmocka_unit_test(the_offset_is_the_median_of_the_stamps_and_is_taken_anew_after_a_break),
        cmocka_unit_test(a_device_that_says_nothing_is_stalled_and_one_that_ends_is_gone),
        cmocka_unit_test(a_device_of_another_rate_keeps_the_numbers_too),
        cmocka_unit_test(rates_of_no_device_are_refused),
        cmocka_unit_test(a_callback_in_another_thread_passes_every_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
