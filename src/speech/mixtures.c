#include "speech/mixtures.h"

#include "speech/model_file.h"

/* Finds the weights: behind lines of text, each with its length in front of it and the last one
 * empty, come two numbers and then a row of bytes for each density of each stream. */
static enum sl_status find_weights(struct sl_model_file *file, struct sl_senone_mixtures *mixtures,
                                   struct sl_error *error)
{
    uint32_t length = 1;
    while (length != 0) {
        if (!sl_model_file_number(file, &length) || sl_model_file_take(file, length) == NULL) {
            return sl_model_file_broken(file, error);
        }
    }
    uint32_t densities = 0;
    uint32_t senones = 0;
    if (!sl_model_file_number(file, &densities) || !sl_model_file_number(file, &senones) ||
        densities != mixtures->n_densities || densities % SL_SENONE_BLOCK != 0 ||
        senones != mixtures->n_senones) {
        return sl_model_file_other(file, error);
    }
    mixtures->weights = sl_model_file_take(file, (size_t)SL_GAUSSIAN_STREAMS * densities * senones);
    return mixtures->weights != NULL ? SL_OK : sl_model_file_broken(file, error);
}

enum sl_status sl_mixtures_load(const char *folder, const struct sl_acoustic_model *model,
                                double unit, struct sl_senones **senones, struct sl_error *error)
{
    struct sl_senone_mixtures mixtures = {.n_senones = model->definition.n_senones,
                                          .n_codebooks = model->gaussians.n_codebooks,
                                          .n_densities = model->gaussians.n_densities,
                                          .codebook = model->definition.of_senone,
                                          .unit = unit};
    struct sl_model_file file;
    enum sl_status status = sl_model_file_open(folder, "sendump", &file, error);
    if (status == SL_OK) {
        status = find_weights(&file, &mixtures, error);
    }
    if (status == SL_OK) {
        status = sl_senones_new(&mixtures, senones, error);
    }
    sl_model_file_clear(&file);
    return status;
}
