/* Fitting a made-up acoustic model to a made-up speaker, whose transform is known. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>

#include "speech/speaker_fit.h"
#include "support/near.h"

#define CODEBOOKS 6
#define DENSITIES 4
#define FRAMES_EACH 5

/* Numbers without a pattern, from -1 to 1. */
static double draw(uint64_t *state)
{
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(*state >> 11) / (double)(UINT64_C(1) << 52) - 1;
}

/* Gaussians so far from each other that no frame is in doubt. */
static struct sl_gaussians make_model(void)
{
    size_t n = (size_t)CODEBOOKS * SL_GAUSSIAN_STREAMS * DENSITIES * SL_VOICE_CEPSTRA;
    struct sl_gaussians model = {.n_codebooks = CODEBOOKS,
                                 .n_densities = DENSITIES,
                                 .means = malloc(n * sizeof(float)),
                                 .variances = malloc(n * sizeof(float))};
    assert_non_null(model.means);
    assert_non_null(model.variances);
    uint64_t state = 5;
    for (size_t i = 0; i < n; i++) {
        model.means[i] = (float)(10 * draw(&state));
        model.variances[i] = (float)(0.3 + 0.1 * draw(&state));
    }
    return model;
}

static struct sl_mllr make_speaker(void)
{
    struct sl_mllr speaker = sl_mllr_identity();
    uint64_t state = 9;
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
                speaker.streams[s].rows[i][k] += 0.02 * draw(&state);
            }
        }
    }
    return speaker;
}

/* Frames of every Gaussian in turn, where the speaker moves its mean. */
static struct sl_speaker_frames speak(const struct sl_gaussians *model,
                                      const struct sl_mllr *speaker)
{
    size_t n = (size_t)CODEBOOKS * DENSITIES * FRAMES_EACH;
    struct sl_speaker_frames frames = {calloc(n, sizeof(*frames.items)), n, n};
    assert_non_null(frames.items);
    for (size_t f = 0; f < n; f++) {
        struct sl_speaker_frame *frame = &frames.items[f];
        frame->codebook = f / FRAMES_EACH / DENSITIES;
        size_t density = f / FRAMES_EACH % DENSITIES;
        for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
            const float *mean = model->means + sl_gaussians_at(model, frame->codebook, s) +
                                density * SL_VOICE_CEPSTRA;
            sl_mllr_move(&speaker->streams[s], mean, frame->features[s]);
        }
    }
    return frames;
}

static double largest_difference(const struct sl_mllr *a, const struct sl_mllr *b)
{
    double most = 0;
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
                most = fmax(most, fabs(a->streams[s].rows[i][k] - b->streams[s].rows[i][k]));
            }
        }
    }
    return most;
}

static void the_speakers_transform_is_found(void **state)
{
    (void)state;
    struct sl_gaussians model = make_model();
    const struct sl_mllr speaker = make_speaker();
    struct sl_speaker_frames frames = speak(&model, &speaker);
    struct sl_mllr found;
    assert_int_equal(sl_speaker_fit(&model, &frames, &found, NULL), SL_OK);
    assert_true(largest_difference(&found, &speaker) < 1e-4);
    free(frames.items);
    free(model.means);
    free(model.variances);
}

static void too_little_is_said_to_be_too_little(void **state)
{
    (void)state;
    struct sl_gaussians model = make_model();
    const struct sl_mllr speaker = make_speaker();
    struct sl_speaker_frames frames = speak(&model, &speaker);
    struct sl_mllr found = sl_mllr_identity();
    struct sl_error error = {0};
    frames.count = FRAMES_EACH;
    assert_int_equal(sl_speaker_fit(&model, &frames, &found, &error), SL_INVALID);
    assert_non_null(error.mend);
    assert_near(found.streams[0].rows[0][0], 1, 0);
    sl_error_clear(&error);
    free(frames.items);
    free(model.means);
    free(model.variances);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_speakers_transform_is_found),
        cmocka_unit_test(too_little_is_said_to_be_too_little),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
