#include "speech/acoustic_model.h"

#include "speech/model_file.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define CODEBOOKS_MOST 1000
#define DENSITIES_MOST 4096

static bool take_floats(struct sl_model_file *file, float *floats, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        uint32_t bits = 0;
        if (!sl_model_file_number(file, &bits)) {
            return false;
        }
        memcpy(floats + i, &bits, sizeof(bits));
        if (!isfinite(floats[i])) {
            return false;
        }
    }
    return true;
}

/* The text in front of the numbers, which ends with a line "endhdr". */
static bool skip_header(struct sl_model_file *file)
{
    static const char end[] = "endhdr\n";
    for (; file->at + sizeof(end) - 1 <= file->length; file->at++) {
        if (memcmp(file->data + file->at, end, sizeof(end) - 1) == 0) {
            file->at += sizeof(end) - 1;
            return true;
        }
    }
    return false;
}

/* What stands in front of the Gaussians of a file: how many, in what arrangement. */
struct arrangement {
    uint32_t order, codebooks, streams, densities;
};

static enum sl_status read_arrangement(struct sl_model_file *file, struct arrangement *arrangement,
                                       struct sl_error *error)
{
    struct arrangement *a = arrangement;
    if (!skip_header(file) || !sl_model_file_number(file, &a->order) ||
        !sl_model_file_number(file, &a->codebooks) || !sl_model_file_number(file, &a->streams) ||
        !sl_model_file_number(file, &a->densities)) {
        return sl_model_file_broken(file, error);
    }
    if (a->order != 0x11223344 || a->streams != SL_GAUSSIAN_STREAMS || a->codebooks == 0 ||
        a->codebooks > CODEBOOKS_MOST || a->densities == 0 || a->densities > DENSITIES_MOST) {
        return sl_model_file_other(file, error);
    }
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
        uint32_t size = 0;
        if (!sl_model_file_number(file, &size) || size != SL_VOICE_CEPSTRA) {
            return sl_model_file_other(file, error);
        }
    }
    uint32_t n = 0;
    return sl_model_file_number(file, &n) ? SL_OK : sl_model_file_broken(file, error);
}

static size_t count_of(const struct arrangement *a)
{
    return (size_t)a->codebooks * a->streams * a->densities * SL_VOICE_CEPSTRA;
}

/* Reads the Gaussians' means or variances into *numbers. */
static enum sl_status read_gaussians(struct sl_model_file *file, struct arrangement *arrangement,
                                     float **numbers, struct sl_error *error)
{
    enum sl_status status = read_arrangement(file, arrangement, error);
    if (status != SL_OK) {
        return status;
    }
    size_t n = count_of(arrangement);
    if (n == 0) {
        return sl_model_file_broken(file, error);
    }
    *numbers = malloc(n * sizeof(**numbers));
    if (*numbers == NULL) {
        return sl_fail_memory(error);
    }
    return take_floats(file, *numbers, n) ? SL_OK : sl_model_file_broken(file, error);
}

static enum sl_status load_gaussians(const char *folder, struct sl_acoustic_model *model,
                                     struct sl_error *error)
{
    struct arrangement of_means = {0};
    struct arrangement of_variances = {0};
    struct sl_model_file file;
    enum sl_status status = sl_model_file_open(folder, "means", &file, error);
    if (status == SL_OK) {
        status = read_gaussians(&file, &of_means, &model->gaussians.means, error);
    }
    sl_model_file_clear(&file);
    if (status != SL_OK) {
        return status;
    }
    status = sl_model_file_open(folder, "variances", &file, error);
    if (status == SL_OK) {
        status = read_gaussians(&file, &of_variances, &model->gaussians.variances, error);
    }
    if (status == SL_OK && memcmp(&of_means, &of_variances, sizeof(of_means)) != 0) {
        status = sl_model_file_broken(&file, error);
    }
    sl_model_file_clear(&file);
    model->gaussians.n_codebooks = of_means.codebooks;
    model->gaussians.n_densities = of_means.densities;
    float *variances = model->gaussians.variances;
    for (size_t i = 0; status == SL_OK && variances != NULL && i < count_of(&of_means); i++) {
        variances[i] = fmaxf(variances[i], SL_VARIANCE_LEAST);
    }
    return status;
}

enum sl_status sl_acoustic_model_load(const char *folder, struct sl_acoustic_model *model,
                                      struct sl_error *error)
{
    struct sl_acoustic_model made = {0};
    enum sl_status status = load_gaussians(folder, &made, error);
    if (status == SL_OK) {
        status =
            sl_model_definition_load(folder, made.gaussians.n_codebooks, &made.definition, error);
    }
    if (status != SL_OK) {
        sl_acoustic_model_clear(&made);
        return status;
    }
    sl_acoustic_model_clear(model);
    *model = made;
    return SL_OK;
}

size_t sl_acoustic_model_codebook(const struct sl_acoustic_model *model, const char *phone)
{
    size_t i = 0;
    while (i < model->gaussians.n_codebooks && strcmp(model->definition.phones[i], phone) != 0) {
        i++;
    }
    return i;
}

size_t sl_gaussians_at(const struct sl_gaussians *gaussians, size_t codebook, size_t stream)
{
    return (codebook * SL_GAUSSIAN_STREAMS + stream) * gaussians->n_densities * SL_VOICE_CEPSTRA;
}

void sl_acoustic_model_clear(struct sl_acoustic_model *model)
{
    if (model == NULL) {
        return;
    }
    sl_model_definition_clear(&model->definition);
    free(model->gaussians.means);
    free(model->gaussians.variances);
    *model = (struct sl_acoustic_model){0};
}
