#include "speech/fitted_model.h"

#include "speech/acoustic_model.h"
#include "speech/decoder_library.h"
#include "speech/mixtures.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH SL_VOICE_CEPSTRA

struct sl_fitted_model {
    fe_t *fe;
    struct sl_cepstrum_form form;
    struct sl_acoustic_model rest; /* as it was read */
    struct sl_gaussians moved;     /* in use when `fitted` */
    struct sl_senones *senones;    /* of those in use */
    bool fitted;
};

static size_t n_floats(const struct sl_gaussians *all)
{
    return all->n_codebooks * SL_GAUSSIAN_STREAMS * all->n_densities * WIDTH;
}

/* Gaussians as many as `like`, without values. */
static bool make_alike(const struct sl_gaussians *like, struct sl_gaussians *made)
{
    *made = *like;
    made->means = malloc(n_floats(like) * sizeof *made->means);
    made->variances = malloc(n_floats(like) * sizeof *made->variances);
    return made->means != NULL && made->variances != NULL;
}

/* Moves the means to where the speaker has them. */
static void move(struct sl_gaussians *all, const struct sl_mllr *speaker)
{
    for (size_t g = 0; g < n_floats(all) / WIDTH; g++) {
        size_t stream = g / all->n_densities % SL_GAUSSIAN_STREAMS;
        sl_mllr_move(&speaker->streams[stream], all->means + g * WIDTH, all->means + g * WIDTH);
    }
}

static bool usual_features(cmd_ln_t *config, struct sl_cepstrum_form *form)
{
    long filters = cmd_ln_int_r(config, "-nfilt");
    long lifter = cmd_ln_int_r(config, "-lifter");
    const char *transform = cmd_ln_str_r(config, "-transform");
    const char *features = cmd_ln_str_r(config, "-feat");
    if (filters < WIDTH || filters > SL_FILTERS_MOST || lifter <= 0 || transform == NULL ||
        strcmp(transform, "dct") != 0 || features == NULL || strcmp(features, "1s_c_d_dd") != 0 ||
        cmd_ln_int_r(config, "-ceplen") != WIDTH) {
        return false;
    }
    *form = (struct sl_cepstrum_form){(size_t)filters, (double)lifter};
    return true;
}

static fe_t *plain_front_end(cmd_ln_t *config)
{
    long removes = cmd_ln_boolean_r(config, "-remove_noise");
    cmd_ln_set_boolean_r(config, "-remove_noise", FALSE);
    fe_t *fe = fe_init_auto_r(config);
    cmd_ln_set_boolean_r(config, "-remove_noise", removes);
    return fe;
}

enum sl_status sl_fitted_model_new(ps_decoder_t *ps, const char *folder,
                                   struct sl_fitted_model **model, struct sl_error *error)
{
    struct sl_fitted_model *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    cmd_ln_t *config = ps_get_config(ps);
    bool fine =
        usual_features(config, &made->form) &&
        sl_acoustic_model_load(folder, &made->rest, NULL) == SL_OK &&
        make_alike(&made->rest.gaussians, &made->moved) &&
        sl_mixtures_load(folder, &made->rest, sl_library_unit(ps), &made->senones, NULL) == SL_OK;
    made->fe = fine ? plain_front_end(config) : NULL;
    if (made->fe == NULL) {
        sl_fitted_model_free(made);
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL,
                       "this acoustic model cannot be fitted to a sound");
    }
    sl_senones_fit(made->senones, &made->rest.gaussians);
    *model = made;
    return SL_OK;
}

void sl_fitted_model_free(struct sl_fitted_model *model)
{
    if (model == NULL) {
        return;
    }
    if (model->fe != NULL) {
        (void)fe_free(model->fe);
    }
    sl_senones_free(model->senones);
    free(model->moved.variances);
    free(model->moved.means);
    sl_acoustic_model_clear(&model->rest);
    free(model);
}

fe_t *sl_fitted_model_front_end(const struct sl_fitted_model *model)
{
    return model->fe;
}

static void use_moved(struct sl_fitted_model *model)
{
    sl_senones_fit(model->senones, &model->moved);
    model->fitted = true;
}

enum sl_status sl_fitted_model_to_noise(struct sl_fitted_model *model,
                                        const struct sl_noisy_sound *sound, struct sl_error *error)
{
    enum sl_status status =
        sl_noise_shift(&model->rest.gaussians, &model->form, sound, &model->moved, error);
    if (status == SL_OK) {
        use_moved(model);
    }
    return status;
}

void sl_fitted_model_to_speaker(struct sl_fitted_model *model, const struct sl_mllr *speaker)
{
    if (!model->fitted) {
        const struct sl_gaussians *rest = &model->rest.gaussians;
        memcpy(model->moved.means, rest->means, n_floats(rest) * sizeof *rest->means);
        memcpy(model->moved.variances, rest->variances, n_floats(rest) * sizeof *rest->variances);
    }
    move(&model->moved, speaker);
    use_moved(model);
}

void sl_fitted_model_rest(struct sl_fitted_model *model)
{
    if (model->fitted) {
        sl_senones_fit(model->senones, &model->rest.gaussians);
        model->fitted = false;
    }
}

size_t sl_fitted_model_senones(const struct sl_fitted_model *model)
{
    return sl_senones_count(model->senones);
}

void sl_fitted_model_score(const struct sl_fitted_model *model,
                           const float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA],
                           int16_t *scores)
{
    sl_senones_score(model->senones, features, scores);
}

const struct sl_gaussians *sl_fitted_model_gaussians(const struct sl_fitted_model *model)
{
    return model->fitted ? &model->moved : &model->rest.gaussians;
}

size_t sl_fitted_model_codebook(const struct sl_fitted_model *model, const char *phone)
{
    return sl_acoustic_model_codebook(&model->rest, phone);
}
