#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "sound/clock.h"
#include "sound/endpoint_file.h"
#include "sound/endpoint_simulated.h"
#include "sound/sound_writer.h"

#include "core/str.h"
#include "support/near.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define RATE SL_SOUND_RATE_HZ
#define BLOCK 160

static int16_t *ramp(size_t n)
{
    int16_t *frames = calloc(n, sizeof *frames);
    assert_non_null(frames);
    for (size_t i = 0; i < n; i++) {
        frames[i] = (int16_t)(1 + i % 10000);
    }
    return frames;
}

static struct sl_endpoint open_simulated(const struct sl_simulation *simulation)
{
    struct sl_endpoint endpoint = {0};
    assert_int_equal(sl_endpoint_simulated_open(simulation, &endpoint, NULL), SL_OK);
    assert_int_equal(sl_endpoint_facts(&endpoint).state, SL_ENDPOINT_READY);
    assert_int_equal(sl_endpoint_wait(&endpoint, 1, 1), 0);
    assert_int_equal(sl_endpoint_start(&endpoint, NULL), SL_OK);
    return endpoint;
}

static void simulated_time_passes_only_in_a_wait(void **state)
{
    (void)state;
    int16_t *signal = ramp(BLOCK);
    struct sl_simulation simulation = {.signal = signal, .n_signal = BLOCK};
    struct sl_endpoint endpoint = open_simulated(&simulation);
    int16_t heard[2 * BLOCK];
    assert_int_equal(sl_endpoint_read(&endpoint, heard, BLOCK), 0);
    assert_int_equal(sl_endpoint_wait(&endpoint, 2 * BLOCK, 1), 2 * BLOCK);
    assert_int_equal(sl_endpoint_facts(&endpoint).captured, 2 * BLOCK);
    assert_int_equal(sl_endpoint_facts(&endpoint).starved, 2 * BLOCK);
    assert_int_equal(sl_endpoint_read(&endpoint, heard, 3 * BLOCK), 2 * BLOCK);
    assert_memory_equal(heard, signal, BLOCK * sizeof *signal);
    assert_int_equal(heard[BLOCK], 0);
    sl_endpoint_close(&endpoint);
    assert_null(endpoint.functions);
    sl_endpoint_close(&endpoint);
    free(signal);
}

static void the_simulated_speaker_leaks_after_its_delay(void **state)
{
    (void)state;
    int16_t *play = ramp(4 * BLOCK);
    struct sl_simulation simulation = {.leak = 0.5, .delay_frames = 100};
    struct sl_endpoint endpoint = open_simulated(&simulation);
    int16_t heard[4 * BLOCK];
    assert_int_equal(sl_endpoint_write(&endpoint, play, 4 * BLOCK), 4 * BLOCK);
    assert_int_equal(sl_endpoint_wait(&endpoint, 4 * BLOCK, 1), 4 * BLOCK);
    assert_int_equal(sl_endpoint_read(&endpoint, heard, 4 * BLOCK), 4 * BLOCK);
    assert_near(sl_endpoint_facts(&endpoint).offset_s, 100.0 / RATE, 1e-12);
    for (size_t i = 0; i < 4 * BLOCK; i++) {
        double wanted = i < 100 ? 0 : 0.5 * play[i - 100];
        assert_near(heard[i], wanted, 0.5);
    }
    const int16_t *played = NULL;
    size_t n = 0;
    sl_endpoint_simulated_played(&endpoint, &played, &n);
    assert_int_equal(n, 4 * BLOCK);
    assert_memory_equal(played, play, n * sizeof *play);
    sl_endpoint_close(&endpoint);
    free(play);
}

static void the_simulated_device_stalls_and_goes(void **state)
{
    (void)state;
    struct sl_simulation simulation = {.stalls_at = 1600, .stall_s = 0.5, .gone_at = 3200};
    struct sl_endpoint endpoint = open_simulated(&simulation);
    assert_int_equal(sl_endpoint_wait(&endpoint, 2000, 0.2), 1600);
    assert_int_equal(sl_endpoint_facts(&endpoint).state, SL_ENDPOINT_STALLED);
    assert_int_equal(sl_endpoint_wait(&endpoint, 2000, 1), 2000);
    assert_int_equal(sl_endpoint_facts(&endpoint).state, SL_ENDPOINT_RUNNING);
    assert_int_equal(sl_endpoint_wait(&endpoint, 9999, 10), 3200);
    assert_int_equal(sl_endpoint_facts(&endpoint).state, SL_ENDPOINT_GONE);
    int16_t heard[3200];
    assert_int_equal(sl_endpoint_read(&endpoint, heard, 3200), 3200);
    sl_endpoint_stop(&endpoint);
    assert_int_equal(sl_endpoint_facts(&endpoint).state, SL_ENDPOINT_STOPPED);
    sl_endpoint_close(&endpoint);
}

static char *write_file(const int16_t *frames, size_t n)
{
    char *path = sl_strf("%s/endpoint-%ld.wav", SL_BUILD_DIR, (long)getpid());
    struct sl_sound_writer *writer = NULL;
    assert_int_equal(sl_sound_create(path, RATE, &writer, NULL), SL_OK);
    assert_int_equal(sl_sound_write(writer, frames, n, NULL), SL_OK);
    assert_int_equal(sl_sound_finish(writer, NULL), SL_OK);
    return path;
}

static void a_file_comes_in_real_time_from_the_frame_asked_for(void **state)
{
    (void)state;
    size_t n = RATE / 2;
    int16_t *signal = ramp(n);
    char *path = write_file(signal, n);
    struct sl_endpoint endpoint = {0};
    assert_int_equal(sl_endpoint_file_open(path, &endpoint, NULL), SL_OK);
    assert_int_equal(sl_endpoint_file_length(&endpoint), n);
    assert_int_equal(sl_endpoint_facts(&endpoint).state, SL_ENDPOINT_READY);
    assert_true(sl_endpoint_file_begin_at(&endpoint, 2000));
    int16_t *heard = calloc(RATE, sizeof *heard);
    int16_t *play = calloc(RATE, sizeof *play);
    assert_true(heard != NULL && play != NULL);
    assert_int_equal(sl_endpoint_write(&endpoint, play, RATE / 4), RATE / 4);
    assert_int_equal(sl_endpoint_start(&endpoint, NULL), SL_OK);
    double from_s = sl_clock_s();
    size_t at = 0;
    while (at < RATE - 1600) {
        assert_true(sl_endpoint_wait(&endpoint, 320, 1) >= 320);
        at += sl_endpoint_read(&endpoint, heard + at, RATE - at);
        /* Neither before its time, nor, on a busy computer, much after it. */
        double passed_s = sl_clock_s() - from_s;
        assert_near((double)at / RATE, passed_s, 0.2);
        assert_true((double)at / RATE <= passed_s + 0.001);
    }
    for (size_t i = 0; i < at; i++) {
        assert_int_equal(heard[i], i < 2000 || i >= 2000 + n ? 0 : signal[i - 2000]);
    }
    assert_false(sl_endpoint_file_begin_at(&endpoint, 16000));
    struct sl_endpoint_facts facts = sl_endpoint_facts(&endpoint);
    assert_int_equal(facts.state, SL_ENDPOINT_ENDED);
    assert_int_equal(facts.starved, facts.played - RATE / 4);
    assert_true(facts.offset_known);
    sl_endpoint_stop(&endpoint);
    uint64_t captured = sl_endpoint_facts(&endpoint).captured;
    sl_clock_sleep_s(0.05);
    assert_int_equal(sl_endpoint_facts(&endpoint).captured, captured);
    assert_int_equal(sl_endpoint_facts(&endpoint).state, SL_ENDPOINT_STOPPED);
    sl_endpoint_close(&endpoint);
    unlink(path);
    free(path);
    free(signal);
    free(heard);
    free(play);
}

static void a_file_that_is_not_there_is_no_endpoint(void **state)
{
    (void)state;
    struct sl_endpoint endpoint = {0};
    assert_int_equal(sl_endpoint_file_open("/nowhere/x.wav", &endpoint, NULL), SL_NOT_FOUND);
    assert_null(endpoint.functions);
}

static void only_so_much_can_be_written_ahead(void **state)
{
    (void)state;
    struct sl_endpoint endpoint = open_simulated(&(struct sl_simulation){0});
    int16_t *play = calloc((size_t)2 * RATE, sizeof *play);
    assert_non_null(play);
    size_t room = sl_endpoint_writable(&endpoint);
    assert_int_equal(sl_endpoint_write(&endpoint, play, (size_t)2 * RATE), room);
    assert_int_equal(sl_endpoint_writable(&endpoint), 0);
    sl_endpoint_wait(&endpoint, 100, 1);
    assert_int_equal(sl_endpoint_writable(&endpoint), 100);
    free(play);
    sl_endpoint_close(&endpoint);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(simulated_time_passes_only_in_a_wait),
        cmocka_unit_test(the_simulated_speaker_leaks_after_its_delay),
        cmocka_unit_test(the_simulated_device_stalls_and_goes),
        cmocka_unit_test(a_file_comes_in_real_time_from_the_frame_asked_for),
        cmocka_unit_test(a_file_that_is_not_there_is_no_endpoint),
        cmocka_unit_test(only_so_much_can_be_written_ahead),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
