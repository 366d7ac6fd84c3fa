#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "core/mllr.h"
#include "support/near.h"

#define N_GAUSSIANS 40

/* Numbers without a pattern, from -1 to 1. */
static double draw(uint64_t *state)
{
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(*state >> 11) / (double)(UINT64_C(1) << 52) - 1;
}

/* Gaussians at random, and a speaker whose sounds lie exactly where `truth` moves the means. */
static void hear(const struct sl_mllr_matrix *truth, size_t n, struct sl_mllr_sums *sums)
{
    uint64_t state = 7;
    for (size_t g = 0; g < n; g++) {
        float mean[SL_VOICE_CEPSTRA];
        float variance[SL_VOICE_CEPSTRA];
        float moved[SL_VOICE_CEPSTRA];
        double sum[SL_VOICE_CEPSTRA];
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            mean[i] = (float)(10 * draw(&state));
            variance[i] = (float)(2 + draw(&state));
        }
        double frames = 3 + draw(&state);
        sl_mllr_move(truth, mean, moved);
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            sum[i] = frames * (double)moved[i];
        }
        sl_mllr_add(sums, &(struct sl_mllr_gaussian){mean, variance, frames, sum});
    }
}

static struct sl_mllr_matrix some_matrix(void)
{
    struct sl_mllr_matrix matrix = sl_mllr_identity().streams[0];
    uint64_t state = 3;
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
            matrix.rows[i][k] += 0.3 * draw(&state);
        }
    }
    return matrix;
}

static void the_speakers_own_matrix_is_found(void **state)
{
    (void)state;
    const struct sl_mllr_matrix truth = some_matrix();
    struct sl_mllr_sums sums = {0};
    hear(&truth, N_GAUSSIANS, &sums);
    struct sl_mllr_matrix found;
    assert_true(sl_mllr_solve(&sums, &found));
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
            assert_near(found.rows[i][k], truth.rows[i][k], 1e-5);
        }
    }
}

/* By hand, one feature of interest: means 0 and 1 with variances 1 and 4, heard 2 times at 1.5 and
 * 4 times at 3.5. Two points determine a line whatever the variances: 1.5 + 2 m. */
static void two_points_determine_a_line(void **state)
{
    (void)state;
    struct sl_mllr_sums sums = {0};
    const struct sl_mllr_matrix same = sl_mllr_identity().streams[0];
    hear(&same, N_GAUSSIANS, &sums);               /* fills the other rows' equations */
    for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) { /* the first row's are made anew */
        sums.z[0][k] = 0;
        for (size_t l = 0; l < SL_MLLR_COLUMNS; l++) {
            sums.g[0][k][l] = k == l && k > 0 && k < SL_VOICE_CEPSTRA ? 1 : 0;
        }
    }
    const float at_zero[SL_VOICE_CEPSTRA] = {0};
    const float at_one[SL_VOICE_CEPSTRA] = {1};
    float one[SL_VOICE_CEPSTRA];
    float four[SL_VOICE_CEPSTRA];
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        one[i] = 1;
        four[i] = 4;
    }
    const double low[SL_VOICE_CEPSTRA] = {2 * 1.5};
    const double high[SL_VOICE_CEPSTRA] = {4 * 3.5};
    sl_mllr_add(&sums, &(struct sl_mllr_gaussian){at_zero, one, 2, low});
    sl_mllr_add(&sums, &(struct sl_mllr_gaussian){at_one, four, 4, high});
    struct sl_mllr_matrix found;
    assert_true(sl_mllr_solve(&sums, &found));
    assert_near(found.rows[0][0], 2, 1e-12);
    assert_near(found.rows[0][SL_VOICE_CEPSTRA], 1.5, 1e-12);
    assert_near(found.rows[0][5], 0, 1e-12);
}

static void too_few_sounds_determine_nothing(void **state)
{
    (void)state;
    const struct sl_mllr_matrix truth = some_matrix();
    for (size_t n = 0; n < SL_MLLR_COLUMNS; n++) {
        struct sl_mllr_sums sums = {0};
        hear(&truth, n, &sums);
        struct sl_mllr_matrix found = {.rows = {{42}}};
        assert_false(sl_mllr_solve(&sums, &found));
        assert_near(found.rows[0][0], 42, 0);
    }
}

static void a_gaussian_without_frames_changes_nothing(void **state)
{
    (void)state;
    struct sl_mllr_sums sums = {0};
    const float mean[SL_VOICE_CEPSTRA] = {1};
    const double sum[SL_VOICE_CEPSTRA] = {0};
    sl_mllr_add(&sums, &(struct sl_mllr_gaussian){mean, mean, 0, sum});
    for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
        assert_near(sums.g[0][k][k], 0, 0);
    }
}

static void what_is_no_number_is_not_sound(void **state)
{
    (void)state;
    struct sl_mllr mllr = sl_mllr_identity();
    assert_true(sl_mllr_is_sound(&mllr));
    mllr.streams[2].rows[12][13] = NAN;
    assert_false(sl_mllr_is_sound(&mllr));
    mllr.streams[2].rows[12][13] = 1e9;
    assert_false(sl_mllr_is_sound(&mllr));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_speakers_own_matrix_is_found),
        cmocka_unit_test(two_points_determine_a_line),
        cmocka_unit_test(too_few_sounds_determine_nothing),
        cmocka_unit_test(a_gaussian_without_frames_changes_nothing),
        cmocka_unit_test(what_is_no_number_is_not_sound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
