#include "core/envelope.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/near.h"

static void a_peak_is_the_loudest_sample_of_its_stretch(void **state)
{
    (void)state;
    static const int16_t samples[] = {0, 16384, -8192, -32768, 100, 0, 3277};
    struct sl_envelope envelope = {.rate_hz = 8, .stretch = 3};
    /* In pieces that do not end where stretches do. */
    assert_int_equal(sl_envelope_add(&envelope, samples, 2, NULL), SL_OK);
    assert_int_equal(sl_envelope_add(&envelope, samples + 2, 5, NULL), SL_OK);
    assert_int_equal(envelope.n_peaks, 3);
    assert_near(envelope.peaks[0], 0.5, 1e-12);
    assert_near(envelope.peaks[1], 1.0, 1e-12);
    assert_near(envelope.peaks[2], 3277 / 32768.0, 1e-12);
    assert_near(sl_envelope_at_s(&envelope, 2), 0.75, 1e-12);
    sl_envelope_clear(&envelope);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_peak_is_the_loudest_sample_of_its_stretch),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
