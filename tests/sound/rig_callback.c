/*
 * What the audio callback calls on a real device: in no thread but the test's own may the sound
 * library allocate, free, lock, wait, or ask the system for anything. The linker leads the
 * library's calls through here (tests/sound/CMakeLists.txt); run by tests/e2e/rig.sh.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "sound/rig_run.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <time.h>

static pthread_t own_thread;
static atomic_uint own_calls, foreign_calls;

static void note_call(void)
{
    atomic_uint *counter =
        pthread_equal(pthread_self(), own_thread) != 0 ? &own_calls : &foreign_calls;
    atomic_fetch_add(counter, 1);
}

/* NAME's calls are counted, then made. */
#define WATCHED(type, name, parameters, arguments)                                                 \
    type __real_##name parameters;                                                                 \
    type __wrap_##name parameters;                                                                 \
    type __wrap_##name parameters                                                                  \
    {                                                                                              \
        note_call();                                                                               \
        return __real_##name arguments;                                                            \
    }

/* NOLINTBEGIN(*-reserved-identifier,cert-*): the linker's names */
WATCHED(void *, malloc, (size_t bytes), (bytes))
WATCHED(void *, calloc, (size_t n, size_t bytes), (n, bytes))
WATCHED(void *, realloc, (void *old, size_t bytes), (old, bytes))
WATCHED(void *, aligned_alloc, (size_t step, size_t bytes), (step, bytes))
WATCHED(int, pthread_mutex_lock, (pthread_mutex_t * mutex), (mutex))
WATCHED(int, pthread_cond_wait, (pthread_cond_t * change, pthread_mutex_t *mutex), (change, mutex))
WATCHED(int, nanosleep, (const struct timespec *asked, struct timespec *left), (asked, left))
WATCHED(int, clock_nanosleep,
        (clockid_t clock, int flags, const struct timespec *asked, struct timespec *left),
        (clock, flags, asked, left))
WATCHED(int, clock_gettime, (clockid_t clock, struct timespec *now), (clock, now))
WATCHED(size_t, fwrite, (const void *from, size_t bytes, size_t n, FILE *file),
        (from, bytes, n, file))

void __real_free(void *memory);
void __wrap_free(void *memory);
void __wrap_free(void *memory)
{
    note_call();
    __real_free(memory);
}
/* NOLINTEND(*-reserved-identifier,cert-*) */

static void the_callback_neither_allocates_nor_locks_nor_waits(void **state)
{
    (void)state;
    struct rig_run run;
    own_thread = pthread_self();
    rig_open(&run, &(struct sl_device_choice){0}, 5);
    rig_start(&run);
    rig_run_until(&run, (size_t)2 * RIG_RATE);
    /* And where the callback finds its ring empty and, later, the other one full. */
    sl_clock_sleep_s(9);
    struct sl_endpoint_facts facts = sl_endpoint_facts(&run.endpoint);
    unsigned own = atomic_load(&own_calls);
    unsigned foreign = atomic_load(&foreign_calls);
    print_message("%u frames, %u starved, %u lost; %u calls, %u in the callback's thread\n",
                  (unsigned)facts.captured, (unsigned)facts.starved, (unsigned)facts.lost, own,
                  foreign);
    assert_true(facts.starved > 0 && facts.lost > 0);
    assert_true(own > 0); /* the counting works */
    assert_int_equal(foreign, 0);
    rig_close(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_callback_neither_allocates_nor_locks_nor_waits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
