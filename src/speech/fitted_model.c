#include "speech/fitted_model.h"

#include "core/str.h"
#include "speech/voice_apply.h"
#include "speech/voice_model.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#define BYTE_ORDER_MARK 0x11223344
#define WIDTH SL_VOICE_CEPSTRA

/* A file of the decoder that lives in memory. */
struct memory_file {
    int fd;
    char *path;
};

struct sl_fitted_model {
    ps_decoder_t *ps;
    fe_t *fe;
    struct sl_cepstrum_form form;
    struct sl_voice_model rest; /* as the voice has it */
    struct sl_gaussians moved;  /* in use when `fitted` */
    struct memory_file means, variances;
    ps_mllr_t *same; /* a transform that changes nothing: applying it makes the library read anew */
    bool fitted;
};

static bool memory_file_open(const char *name, struct memory_file *file)
{
    file->fd = memfd_create(name, MFD_CLOEXEC);
    file->path = file->fd < 0 ? NULL : sl_strf("/proc/self/fd/%d", file->fd);
    return file->path != NULL;
}

static void memory_file_close(struct memory_file *file)
{
    if (file->path != NULL) {
        (void)close(file->fd);
        free(file->path);
    }
    *file = (struct memory_file){0};
}

static bool memory_file_write(const struct memory_file *file, const void *bytes, size_t n)
{
    const char *from = bytes;
    while (n > 0) {
        ssize_t done = write(file->fd, from, n);
        if (done <= 0) {
            return false;
        }
        from += done;
        n -= (size_t)done;
    }
    return true;
}

static size_t n_floats(const struct sl_gaussians *all)
{
    return all->n_codebooks * SL_GAUSSIAN_STREAMS * all->n_densities * WIDTH;
}

/* Writes Gaussian parameters in the library's format, without a check sum. */
static bool write_parameters(const struct memory_file *file, const struct sl_gaussians *all,
                             const float *values)
{
    static const char head[] = "s3\nversion 1.0\nendhdr\n";
    size_t n = n_floats(all);
    const int32_t sizes[] = {BYTE_ORDER_MARK,
                             (int32_t)all->n_codebooks,
                             SL_GAUSSIAN_STREAMS,
                             (int32_t)all->n_densities,
                             WIDTH,
                             WIDTH,
                             WIDTH,
                             (int32_t)n};
    return ftruncate(file->fd, 0) == 0 && lseek(file->fd, 0, SEEK_SET) == 0 &&
           memory_file_write(file, head, sizeof head - 1) &&
           memory_file_write(file, sizes, sizeof sizes) &&
           memory_file_write(file, values, n * sizeof *values);
}

/* Gaussians as many as `like`, without values. */
static bool make_alike(const struct sl_gaussians *like, struct sl_gaussians *made)
{
    *made = *like;
    made->means = malloc(n_floats(like) * sizeof *made->means);
    made->variances = malloc(n_floats(like) * sizeof *made->variances);
    return made->means != NULL && made->variances != NULL;
}

/* Moves the means to where the voice has them. */
static void move(struct sl_gaussians *all, const struct sl_mllr *voice)
{
    for (size_t g = 0; g < n_floats(all) / WIDTH; g++) {
        size_t stream = g / all->n_densities % SL_GAUSSIAN_STREAMS;
        sl_mllr_move(&voice->streams[stream], all->means + g * WIDTH, all->means + g * WIDTH);
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
                                   const struct sl_mllr *voice, struct sl_fitted_model **model,
                                   struct sl_error *error)
{
    struct sl_fitted_model *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->ps = ps;
    const struct sl_mllr same = sl_mllr_identity();
    cmd_ln_t *config = ps_get_config(ps);
    bool fine = usual_features(config, &made->form) &&
                sl_voice_model_load(folder, &made->rest, NULL) == SL_OK &&
                make_alike(&made->rest.gaussians, &made->moved) &&
                memory_file_open("means", &made->means) &&
                memory_file_open("variances", &made->variances);
    made->same = fine ? sl_voice_transform(&same) : NULL;
    made->fe = fine ? plain_front_end(config) : NULL;
    if (made->same == NULL || made->fe == NULL) {
        sl_fitted_model_free(made);
        return sl_fail(error, SL_UNSUPPORTED, NULL, NULL,
                       "this acoustic model cannot be fitted to a sound");
    }
    move(&made->rest.gaussians, voice);
    cmd_ln_set_str_extra_r(config, "_mean", made->means.path);
    cmd_ln_set_str_extra_r(config, "_var", made->variances.path);
    *model = made;
    return SL_OK;
}

void sl_fitted_model_free(struct sl_fitted_model *model)
{
    if (model == NULL) {
        return;
    }
    (void)ps_mllr_free(model->same);
    if (model->fe != NULL) {
        (void)fe_free(model->fe);
    }
    memory_file_close(&model->variances);
    memory_file_close(&model->means);
    free(model->moved.variances);
    free(model->moved.means);
    sl_voice_model_clear(&model->rest);
    free(model);
}

fe_t *sl_fitted_model_front_end(const struct sl_fitted_model *model)
{
    return model->fe;
}

/* Makes the decoder use these Gaussians. */
static enum sl_status use(struct sl_fitted_model *model, const struct sl_gaussians *all,
                          struct sl_error *error)
{
    if (!write_parameters(&model->means, all, all->means) ||
        !write_parameters(&model->variances, all, all->variances)) {
        return sl_fail(error, SL_IO, NULL, NULL, "the fitted acoustic model cannot be written");
    }
    ps_mllr_t *same = ps_mllr_retain(model->same); /* the library gives one away at the next */
    return ps_update_mllr(model->ps, same) != NULL
               ? SL_OK
               : sl_fail(error, SL_UNSUPPORTED, NULL, NULL,
                         "PocketSphinx does not take the fitted acoustic model");
}

/* Uses the Gaussians that were moved. */
static enum sl_status use_moved(struct sl_fitted_model *model, struct sl_error *error)
{
    enum sl_status status = use(model, &model->moved, error);
    model->fitted = status == SL_OK;
    return status;
}

enum sl_status sl_fitted_model_to_noise(struct sl_fitted_model *model,
                                        const struct sl_noisy_sound *sound, struct sl_error *error)
{
    enum sl_status status =
        sl_noise_shift(&model->rest.gaussians, &model->form, sound, &model->moved, error);
    return status == SL_OK ? use_moved(model, error) : status;
}

enum sl_status sl_fitted_model_to_speaker(struct sl_fitted_model *model,
                                          const struct sl_mllr *speaker, struct sl_error *error)
{
    if (!model->fitted) {
        const struct sl_gaussians *rest = &model->rest.gaussians;
        memcpy(model->moved.means, rest->means, n_floats(rest) * sizeof *rest->means);
        memcpy(model->moved.variances, rest->variances, n_floats(rest) * sizeof *rest->variances);
    }
    move(&model->moved, speaker);
    return use_moved(model, error);
}

enum sl_status sl_fitted_model_rest(struct sl_fitted_model *model, struct sl_error *error)
{
    enum sl_status status = model->fitted ? use(model, &model->rest.gaussians, error) : SL_OK;
    model->fitted = model->fitted && status != SL_OK;
    return status;
}

const struct sl_gaussians *sl_fitted_model_gaussians(const struct sl_fitted_model *model)
{
    return model->fitted ? &model->moved : &model->rest.gaussians;
}

size_t sl_fitted_model_codebook(const struct sl_fitted_model *model, const char *phone)
{
    return sl_voice_model_codebook(&model->rest, phone);
}
