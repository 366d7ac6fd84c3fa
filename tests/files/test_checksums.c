#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "files/checksums.h"

/* Outside: what `sha512sum` and `sha256sum` of GNU coreutils print for "abc", the example of FIPS
 * 180-4. */
static void both_are_of_the_same_bytes_and_begin_anew(void **state)
{
    (void)state;
    static const char *const right[SL_CHECKSUM_COUNT] = {
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3"
        "fee"
        "bbd454d4423643ce80e2a9ac94fa54ca49f",
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"};
    static const char *const names[SL_CHECKSUM_COUNT] = {"sha512", "sha256"};
    struct sl_checksums sums;
    assert_true(sl_checksums_begin(&sums));
    for (int turn = 0; turn < 2; turn++) {
        struct sl_checksums_hex hex;
        sl_checksums_add(&sums, "a", 1);
        sl_checksums_add(&sums, "bc", 2);
        sl_checksums_end(&sums, &hex);
        for (size_t kind = 0; kind < SL_CHECKSUM_COUNT; kind++) {
            assert_string_equal(hex.of[kind], right[kind]);
            assert_int_equal(sl_checksum_digits((enum sl_checksum)kind), strlen(right[kind]));
            assert_string_equal(sl_checksum_name((enum sl_checksum)kind), names[kind]);
        }
    }
    sl_checksums_clear(&sums);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(both_are_of_the_same_bytes_and_begin_anew)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
