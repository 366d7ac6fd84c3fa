#include "core/random.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdbool.h>
#include <string.h>

/* The first numbers for the seed 1234567 as Rosetta Code lists them for splitmix64 (from memory).
 */
static void numbers_are_those_of_splitmix64(void **state)
{
    (void)state;
    static const uint64_t wanted[] = {UINT64_C(6457827717110365317), UINT64_C(3203168211198807973),
                                      UINT64_C(9817491932198370423), UINT64_C(4593380528125082431),
                                      UINT64_C(16408922859458223821)};
    uint64_t random = 1234567;
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        assert_true(sl_random_next(&random) == wanted[i]);
    }
}

#define N 7

static void an_order_has_each_once_and_goes_by_the_seed(void **state)
{
    (void)state;
    size_t differing = 0;
    for (uint64_t seed = 0; seed < 50; seed++) {
        uint64_t first = seed;
        uint64_t second = seed;
        uint64_t other = seed + 1;
        size_t a[N], b[N], c[N];
        bool seen[N] = {false};
        sl_random_order(&first, a, N);
        sl_random_order(&second, b, N);
        sl_random_order(&other, c, N);
        assert_memory_equal(a, b, sizeof a);
        differing += memcmp(a, c, sizeof a) != 0;
        for (size_t i = 0; i < N; i++) {
            assert_true(a[i] < N && !seen[a[i]]);
            seen[a[i]] = true;
        }
    }
    assert_true(differing >= 48); /* one order in 5040 is the same by chance */
}

/* Of 6000 orders of three each of the six comes about as often: 1000 +/- 29 by chance. */
static void all_orders_are_as_likely(void **state)
{
    (void)state;
    size_t count[27] = {0};
    uint64_t random = 1;
    for (int i = 0; i < 6000; i++) {
        size_t order[3];
        sl_random_order(&random, order, 3);
        count[order[0] * 9 + order[1] * 3 + order[2]]++;
    }
    size_t kinds = 0;
    for (size_t i = 0; i < 27; i++) {
        kinds += count[i] > 0;
        assert_true(count[i] == 0 || (count[i] > 850 && count[i] < 1150));
    }
    assert_int_equal(kinds, 6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_those_of_splitmix64),
        cmocka_unit_test(an_order_has_each_once_and_goes_by_the_seed),
        cmocka_unit_test(all_orders_are_as_likely),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
