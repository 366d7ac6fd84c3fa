#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "files/sha512.h"

/* Outside: the digests that `sha512sum` of GNU coreutils prints for these texts. "abc" is also the
 * example of FIPS 180-4 (its digest as remembered agrees). */
static void digests_agree_with_those_of_coreutils(void **state)
{
    (void)state;
    static const struct {
        const char *text, *hex;
    } rows[] = {
        {"", "cf83e1357eefb8bdf1542850d66d8007d620e4050b5715dc83f4a921d36ce9ce47d0d13c5d85f2b0ff831"
             "8d2877eec2f63b931bd47417a81a538327af927da3e"},
        {"abc", "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836"
                "ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f"},
    };
    struct sl_sha512 *digest = sl_sha512_new();
    assert_non_null(digest);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char hex[SL_SHA512_HEX];
        for (const char *at = rows[i].text; *at != '\0'; at++) {
            sl_sha512_add(digest, at, 1); /* byte by byte: the same as at once */
        }
        sl_sha512_end(digest, hex);
        assert_string_equal(hex, rows[i].hex);
        sl_sha512_add(digest, rows[i].text, strlen(rows[i].text)); /* begun anew */
        sl_sha512_end(digest, hex);
        assert_string_equal(hex, rows[i].hex);
    }
    sl_sha512_free(digest);
    sl_sha512_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(digests_agree_with_those_of_coreutils)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
