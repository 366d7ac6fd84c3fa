#include "core/sha256.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

/* The messages and digests of NIST's examples for FIPS 180-4 (from memory, and what the coreutils'
 * sha256sum prints for them). */
static const struct {
    const char *message, *digest;
} rows[] = {
    {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
    {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    {"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnop"
     "q"
     "rsmnopqrstnopqrstu",
     "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1"},
};

static void published_messages_have_their_digests(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (size_t piece = 1; piece <= 65; piece += 8) { /* in pieces of any size */
            struct sl_sha256 sha;
            char hex[SL_SHA256_HEX];
            size_t length = strlen(rows[i].message);
            sl_sha256_begin(&sha);
            for (size_t at = 0; at < length; at += piece) {
                size_t n = length - at < piece ? length - at : piece;
                sl_sha256_add(&sha, rows[i].message + at, n);
            }
            sl_sha256_end(&sha, hex);
            assert_string_equal(hex, rows[i].digest);
        }
    }
}

static void a_million_letters_have_their_digest(void **state)
{
    (void)state;
    static char letters[1000];
    struct sl_sha256 sha;
    char hex[SL_SHA256_HEX];
    memset(letters, 'a', sizeof letters);
    sl_sha256_begin(&sha);
    for (int i = 0; i < 1000; i++) {
        sl_sha256_add(&sha, letters, sizeof letters);
    }
    sl_sha256_end(&sha, hex);
    assert_string_equal(hex, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_messages_have_their_digests),
        cmocka_unit_test(a_million_letters_have_their_digest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
