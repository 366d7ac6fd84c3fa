#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "core/hash.h"

static uint64_t of(const char *text)
{
    return sl_hash(SL_HASH_START, text, strlen(text));
}

/* Values of the authors' list of test vectors, from memory. */
static void known_texts_have_their_published_values(void **state)
{
    (void)state;
    assert_true(of("") == UINT64_C(0xcbf29ce484222325));
    assert_true(of("a") == UINT64_C(0xaf63dc4c8601ec8c));
    assert_true(of("foobar") == UINT64_C(0x85944171f73967e8));
}

static void parts_give_what_the_whole_gives(void **state)
{
    (void)state;
    assert_true(sl_hash(of("foo"), "bar", 3) == of("foobar"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_texts_have_their_published_values),
        cmocka_unit_test(parts_give_what_the_whole_gives),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
