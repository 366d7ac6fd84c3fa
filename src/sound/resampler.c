#include "sound/resampler.h"

#include <samplerate.h>

#include <stdbool.h>
#include <stdlib.h>

#define BLOCK 1024

struct sl_resampler {
    SRC_STATE *state;
    double ratio;
    float in[BLOCK], out[BLOCK];
};

enum sl_status sl_resampler_new(double from_hz, double to_hz, struct sl_resampler **resampler,
                                struct sl_error *error)
{
    double ratio = from_hz > 0 ? to_hz / from_hz : 0;
    if (!(ratio > 0) || !src_is_valid_ratio(ratio)) {
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL,
                       "sound at %g Hz cannot be changed to %g Hz", from_hz, to_hz);
    }
    struct sl_resampler *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    int failure = 0;
    made->ratio = ratio;
    made->state = src_new(SRC_SINC_MEDIUM_QUALITY, 1, &failure);
    if (made->state == NULL) {
        free(made);
        return sl_fail_memory(error);
    }
    *resampler = made;
    return SL_OK;
}

void sl_resampler_free(struct sl_resampler *resampler)
{
    if (resampler != NULL) {
        src_delete(resampler->state);
        free(resampler);
    }
}

static size_t run_block(struct sl_resampler *resampler, struct sl_resampling *frames)
{
    size_t n_in = frames->n_in < BLOCK ? frames->n_in : BLOCK;
    size_t room = frames->room < BLOCK ? frames->room : BLOCK;
    src_short_to_float_array(frames->in, resampler->in, (int)n_in);
    SRC_DATA data = {.data_in = resampler->in,
                     .data_out = resampler->out,
                     .input_frames = (long)n_in,
                     .output_frames = (long)room,
                     .src_ratio = resampler->ratio};
    if (src_process(resampler->state, &data) != 0) {
        return 0; /* only misuse of the library ends here */
    }
    size_t n_out = (size_t)data.output_frames_gen;
    src_float_to_short_array(resampler->out, frames->out, (int)n_out);
    frames->in += data.input_frames_used;
    frames->n_in -= (size_t)data.input_frames_used;
    frames->out += n_out;
    frames->room -= n_out;
    return n_out;
}

size_t sl_resampler_run(struct sl_resampler *resampler, struct sl_resampling *frames)
{
    size_t total = 0;
    bool moved = true;
    /* Also when nothing is left to put in: the library may hold frames that found no room. */
    while (frames->room > 0 && moved) {
        size_t before = frames->n_in;
        size_t n = run_block(resampler, frames);
        total += n;
        moved = n > 0 || frames->n_in < before;
    }
    return total;
}
