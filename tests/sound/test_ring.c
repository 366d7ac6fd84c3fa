#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "sound/ring.h"

#include "support/random.h"

#include <pthread.h>
#include <sched.h>
#include <string.h>

static struct sl_ring *new_ring(size_t room, size_t bytes)
{
    struct sl_ring *ring = NULL;
    assert_int_equal(sl_ring_new(room, bytes, &ring, NULL), SL_OK);
    return ring;
}

static void room_is_at_least_what_was_asked(void **state)
{
    (void)state;
    static const struct {
        size_t asked, got;
    } rows[] = {{1, 1}, {2, 2}, {3, 4}, {1000, 1024}, {1024, 1024}, {1025, 2048}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_ring *ring = new_ring(rows[i].asked, sizeof(int16_t));
        assert_int_equal(sl_ring_room(ring), rows[i].got);
        assert_int_equal(sl_ring_writable(ring), rows[i].got);
        assert_int_equal(sl_ring_readable(ring), 0);
        sl_ring_free(ring);
    }
    sl_ring_free(NULL);
}

static void what_cannot_be_made_is_refused(void **state)
{
    (void)state;
    struct sl_ring *ring = NULL;
    assert_int_equal(sl_ring_new(0, 2, &ring, NULL), SL_INVALID);
    assert_int_equal(sl_ring_new(2, 0, &ring, NULL), SL_INVALID);
    assert_int_equal(sl_ring_new(SIZE_MAX, 2, &ring, NULL), SL_TOO_LARGE);
    assert_int_equal(sl_ring_new(2, SIZE_MAX, &ring, NULL), SL_TOO_LARGE);
    assert_null(ring);
}

static void frames_come_out_in_order_across_the_seam(void **state)
{
    (void)state;
    struct sl_ring *ring = new_ring(8, sizeof(int16_t));
    int16_t next_in = 0;
    int16_t next_out = 0;
    for (size_t round = 0; round < 100; round++) {
        int16_t in[5];
        for (size_t i = 0; i < 5; i++) {
            in[i] = next_in++;
        }
        assert_int_equal(sl_ring_write(ring, in, 5), 5);
        int16_t out[9] = {0};
        assert_int_equal(sl_ring_read(ring, out, 9), 5);
        for (size_t i = 0; i < 5; i++) {
            assert_int_equal(out[i], next_out++);
        }
    }
    sl_ring_free(ring);
}

static void a_full_ring_takes_what_fits_and_keeps_what_it_has(void **state)
{
    (void)state;
    struct sl_ring *ring = new_ring(4, sizeof(float));
    const float in[] = {1, 2, 3, 4, 5, 6};
    assert_int_equal(sl_ring_write(ring, in, 6), 4);
    assert_int_equal(sl_ring_write(ring, in, 1), 0);
    assert_int_equal(sl_ring_writable(ring), 0);
    float out[6] = {0};
    assert_int_equal(sl_ring_read(ring, out, 6), 4);
    assert_memory_equal(out, in, 4 * sizeof *in);
    assert_int_equal(sl_ring_read(ring, out, 1), 0);
    sl_ring_free(ring);
}

static void silence_is_written_and_frames_are_thrown_away_without_an_array(void **state)
{
    (void)state;
    struct sl_ring *ring = new_ring(8, sizeof(int16_t));
    const int16_t in[] = {1, 2, 3, 4, 5, 6, 7, 8};
    assert_int_equal(sl_ring_write(ring, in, 8), 8);
    assert_int_equal(sl_ring_read(ring, NULL, 6), 6);
    assert_int_equal(sl_ring_write(ring, NULL, 4), 4);
    const int16_t wanted[] = {7, 8, 0, 0, 0, 0};
    int16_t out[6] = {9, 9, 9, 9, 9, 9};
    assert_int_equal(sl_ring_read(ring, out, 6), 6);
    assert_memory_equal(out, wanted, sizeof wanted);
    sl_ring_free(ring);
}

/* Against a plain array as a model, with random sizes. */
static void any_order_of_calls_loses_and_invents_nothing(void **state)
{
    (void)state;
    uint64_t random = 7;
    for (size_t size = 1; size <= 64; size *= 2) {
        struct sl_ring *ring = new_ring(size, sizeof(uint32_t));
        uint32_t written = 0;
        uint32_t taken = 0;
        for (size_t step = 0; step < 5000; step++) {
            uint32_t block[80];
            size_t n = random_below(&random, 80);
            for (uint32_t i = 0; i < n; i++) {
                block[i] = written + i;
            }
            size_t free_now = size - (written - taken);
            size_t put = sl_ring_write(ring, block, n);
            assert_int_equal(put, n < free_now ? n : free_now);
            written += (uint32_t)put;
            n = random_below(&random, 80);
            size_t got = sl_ring_read(ring, block, n);
            assert_int_equal(got, n < written - taken ? n : written - taken);
            for (size_t i = 0; i < got; i++) {
                assert_int_equal(block[i], taken++);
            }
        }
        sl_ring_free(ring);
    }
}

#define PASSED 400000

static void *write_numbers(void *user)
{
    struct sl_ring *ring = user;
    uint64_t random = 3;
    uint32_t block[97];
    for (uint32_t next = 0; next < PASSED;) {
        uint32_t n = 1 + (uint32_t)random_below(&random, 97);
        n = n < PASSED - next ? n : PASSED - next;
        for (uint32_t i = 0; i < n; i++) {
            block[i] = next + i;
        }
        size_t put = sl_ring_write(ring, block, n);
        next += (uint32_t)put;
        if (put == 0) {
            sched_yield();
        }
    }
    return NULL;
}

static void two_threads_pass_every_number_in_order(void **state)
{
    (void)state;
    struct sl_ring *ring = new_ring(256, sizeof(uint32_t));
    pthread_t writer;
    assert_int_equal(pthread_create(&writer, NULL, write_numbers, ring), 0);
    uint64_t random = 5;
    uint32_t block[83];
    uint32_t next = 0;
    size_t wrong = 0;
    while (next < PASSED) {
        size_t got = sl_ring_read(ring, block, 1 + random_below(&random, 83));
        for (size_t i = 0; i < got; i++) {
            wrong += block[i] != next++;
        }
        wrong += sl_ring_readable(ring) > sl_ring_room(ring);
        if (got == 0) {
            sched_yield();
        }
    }
    pthread_join(writer, NULL);
    assert_int_equal(wrong, 0);
    assert_int_equal(sl_ring_readable(ring), 0);
    sl_ring_free(ring);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(room_is_at_least_what_was_asked),
        cmocka_unit_test(what_cannot_be_made_is_refused),
        cmocka_unit_test(frames_come_out_in_order_across_the_seam),
        cmocka_unit_test(a_full_ring_takes_what_fits_and_keeps_what_it_has),
        cmocka_unit_test(silence_is_written_and_frames_are_thrown_away_without_an_array),
        cmocka_unit_test(any_order_of_calls_loses_and_invents_nothing),
        cmocka_unit_test(two_threads_pass_every_number_in_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
