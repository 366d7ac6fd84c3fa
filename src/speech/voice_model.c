#include "speech/voice_model.h"

#include "core/hash.h"
#include "core/str.h"
#include "speech/decoder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MODEL_MEND "install Debian's package pocketsphinx-en-us"
#define FILE_MOST ((size_t)64 << 20)
#define CODEBOOKS_MOST 1000
#define DENSITIES_MOST 4096

/* A file in memory, and how far it was read. */
struct bytes {
    char *path;
    unsigned char *data;
    size_t length, at;
};

static void bytes_clear(struct bytes *bytes)
{
    free(bytes->path);
    free(bytes->data);
    *bytes = (struct bytes){0};
}

static enum sl_status fail_broken(const struct bytes *bytes, struct sl_error *error)
{
    return sl_fail(error, SL_FORMAT, bytes->path, MODEL_MEND,
                   "this is no whole file of an acoustic model");
}

static enum sl_status fail_other(const struct bytes *bytes, struct sl_error *error)
{
    return sl_fail(error, SL_UNSUPPORTED, bytes->path, "use Debian's package pocketsphinx-en-us",
                   "an acoustic model of this make cannot be fitted to a voice");
}

/* All of an open file; false when it cannot be read, or is larger than any model. */
static bool read_all(FILE *file, struct bytes *bytes)
{
    if (fseek(file, 0, SEEK_END) != 0) {
        return false;
    }
    long length = ftell(file);
    if (length <= 0 || (size_t)length > FILE_MOST || fseek(file, 0, SEEK_SET) != 0) {
        return false;
    }
    bytes->data = malloc((size_t)length);
    bytes->length = (size_t)length;
    return bytes->data != NULL && fread(bytes->data, 1, bytes->length, file) == bytes->length;
}

/* On failure, too, *bytes is to be cleared. */
static enum sl_status open_bytes(const char *folder, const char *name, struct bytes *bytes,
                                 struct sl_error *error)
{
    *bytes =
        (struct bytes){.path = sl_strf("%s/%s", folder != NULL ? folder : SL_ACOUSTIC_MODEL, name)};
    if (bytes->path == NULL) {
        return sl_fail_memory(error);
    }
    FILE *file = fopen(bytes->path, "rb");
    if (file == NULL) {
        return sl_fail(error, SL_NOT_FOUND, bytes->path, MODEL_MEND,
                       "a file of the acoustic model is missing");
    }
    bool fine = read_all(file, bytes);
    (void)fclose(file);
    return fine ? SL_OK : fail_broken(bytes, error);
}

/* A number of the byte order in which the model's files are handed out, little-endian. */
static bool take_number(struct bytes *bytes, uint32_t *number)
{
    if (bytes->length - bytes->at < 4) {
        return false;
    }
    const unsigned char *b = bytes->data + bytes->at;
    *number = (uint32_t)b[0] | (uint32_t)b[1] << 8 | (uint32_t)b[2] << 16 | (uint32_t)b[3] << 24;
    bytes->at += 4;
    return true;
}

static bool take_floats(struct bytes *bytes, float *floats, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        uint32_t bits = 0;
        if (!take_number(bytes, &bits)) {
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
static bool skip_header(struct bytes *bytes)
{
    static const char end[] = "endhdr\n";
    for (; bytes->at + sizeof(end) - 1 <= bytes->length; bytes->at++) {
        if (memcmp(bytes->data + bytes->at, end, sizeof(end) - 1) == 0) {
            bytes->at += sizeof(end) - 1;
            return true;
        }
    }
    return false;
}

/* What stands in front of the Gaussians of a file: how many, in what arrangement. */
struct arrangement {
    uint32_t order, codebooks, streams, densities;
};

static enum sl_status read_arrangement(struct bytes *bytes, struct arrangement *arrangement,
                                       struct sl_error *error)
{
    struct arrangement *a = arrangement;
    if (!skip_header(bytes) || !take_number(bytes, &a->order) ||
        !take_number(bytes, &a->codebooks) || !take_number(bytes, &a->streams) ||
        !take_number(bytes, &a->densities)) {
        return fail_broken(bytes, error);
    }
    if (a->order != 0x11223344 || a->streams != SL_GAUSSIAN_STREAMS || a->codebooks == 0 ||
        a->codebooks > CODEBOOKS_MOST || a->densities == 0 || a->densities > DENSITIES_MOST) {
        return fail_other(bytes, error);
    }
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
        uint32_t size = 0;
        if (!take_number(bytes, &size) || size != SL_VOICE_CEPSTRA) {
            return fail_other(bytes, error);
        }
    }
    uint32_t n = 0;
    return take_number(bytes, &n) ? SL_OK : fail_broken(bytes, error);
}

static size_t count_of(const struct arrangement *a)
{
    return (size_t)a->codebooks * a->streams * a->densities * SL_VOICE_CEPSTRA;
}

static uint64_t fingerprint_of(const struct bytes *bytes)
{
    return sl_hash(SL_HASH_START, bytes->data, bytes->length);
}

/* Reads the Gaussians' means or variances into *numbers. */
static enum sl_status read_gaussians(struct bytes *bytes, struct arrangement *arrangement,
                                     float **numbers, struct sl_error *error)
{
    enum sl_status status = read_arrangement(bytes, arrangement, error);
    if (status != SL_OK) {
        return status;
    }
    size_t n = count_of(arrangement);
    if (n == 0) {
        return fail_broken(bytes, error);
    }
    *numbers = malloc(n * sizeof(**numbers));
    if (*numbers == NULL) {
        return sl_fail_memory(error);
    }
    return take_floats(bytes, *numbers, n) ? SL_OK : fail_broken(bytes, error);
}

static enum sl_status load_gaussians(const char *folder, struct sl_voice_model *model,
                                     struct sl_error *error)
{
    struct arrangement of_means = {0};
    struct arrangement of_variances = {0};
    struct bytes bytes;
    enum sl_status status = open_bytes(folder, "means", &bytes, error);
    if (status == SL_OK) {
        model->fingerprint = fingerprint_of(&bytes);
        status = read_gaussians(&bytes, &of_means, &model->gaussians.means, error);
    }
    bytes_clear(&bytes);
    if (status != SL_OK) {
        return status;
    }
    status = open_bytes(folder, "variances", &bytes, error);
    if (status == SL_OK) {
        status = read_gaussians(&bytes, &of_variances, &model->gaussians.variances, error);
    }
    if (status == SL_OK && memcmp(&of_means, &of_variances, sizeof(of_means)) != 0) {
        status = fail_broken(&bytes, error);
    }
    bytes_clear(&bytes);
    model->gaussians.n_codebooks = of_means.codebooks;
    model->gaussians.n_densities = of_means.densities;
    for (size_t i = 0; status == SL_OK && i < count_of(&of_means); i++) {
        model->gaussians.variances[i] = fmaxf(model->gaussians.variances[i], SL_VARIANCE_LEAST);
    }
    return status;
}

/* The phones' names: after the magic number, the version and a text that describes the file come
 * ten numbers, the first of which is how many phones there are, and then the names. */
static enum sl_status read_phones(struct bytes *bytes, struct sl_voice_model *model,
                                  struct sl_error *error)
{
    uint32_t length = 0;
    uint32_t n = 0;
    if (bytes->length < 12 || memcmp(bytes->data, "BMDF", 4) != 0) {
        return fail_other(bytes, error);
    }
    bytes->at = 8;
    if (!take_number(bytes, &length) || length > bytes->length - bytes->at) {
        return fail_broken(bytes, error);
    }
    bytes->at += length;
    if (!take_number(bytes, &n) || bytes->length - bytes->at < 36) {
        return fail_broken(bytes, error);
    }
    bytes->at += 36;
    if (n == 0 || n != model->gaussians.n_codebooks) {
        return fail_other(bytes, error);
    }
    model->phones = calloc(n, sizeof(*model->phones));
    if (model->phones == NULL) {
        return sl_fail_memory(error);
    }
    for (size_t i = 0; i < n; i++) {
        size_t left = bytes->length - bytes->at;
        size_t size = strnlen((const char *)bytes->data + bytes->at, left) + 1;
        if (size > left || size > SL_PHONE_NAME_SIZE) {
            return fail_broken(bytes, error);
        }
        memcpy(model->phones[i], bytes->data + bytes->at, size);
        bytes->at += size;
    }
    return SL_OK;
}

enum sl_status sl_voice_model_load(const char *folder, struct sl_voice_model *model,
                                   struct sl_error *error)
{
    struct sl_voice_model made = {0};
    struct bytes bytes = {0};
    enum sl_status status = load_gaussians(folder, &made, error);
    if (status == SL_OK) {
        status = open_bytes(folder, "mdef", &bytes, error);
    }
    if (status == SL_OK) {
        status = read_phones(&bytes, &made, error);
    }
    bytes_clear(&bytes);
    if (status != SL_OK) {
        sl_voice_model_clear(&made);
        return status;
    }
    sl_voice_model_clear(model);
    *model = made;
    return SL_OK;
}

enum sl_status sl_voice_model_fingerprint(const char *folder, uint64_t *fingerprint,
                                          struct sl_error *error)
{
    struct bytes bytes;
    enum sl_status status = open_bytes(folder, "means", &bytes, error);
    if (status == SL_OK) {
        *fingerprint = fingerprint_of(&bytes);
    }
    bytes_clear(&bytes);
    return status;
}

size_t sl_voice_model_codebook(const struct sl_voice_model *model, const char *phone)
{
    size_t i = 0;
    while (i < model->gaussians.n_codebooks && strcmp(model->phones[i], phone) != 0) {
        i++;
    }
    return i;
}

size_t sl_gaussians_at(const struct sl_gaussians *gaussians, size_t codebook, size_t stream)
{
    return (codebook * SL_GAUSSIAN_STREAMS + stream) * gaussians->n_densities * SL_VOICE_CEPSTRA;
}

void sl_voice_model_clear(struct sl_voice_model *model)
{
    if (model == NULL) {
        return;
    }
    free(model->phones);
    free(model->gaussians.means);
    free(model->gaussians.variances);
    *model = (struct sl_voice_model){0};
}
