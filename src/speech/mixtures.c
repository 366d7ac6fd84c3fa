#include "speech/mixtures.h"

#include "speech/model_file.h"

#include <stdlib.h>
#include <string.h>

#define STATES 3        /* of a phone */
#define PHONE_BYTES 12  /* of a phone in its surroundings: two numbers, a place, three phones */
#define PHONE_SENONES 0 /* where in them which sequence of senones it has */
#define PHONE_ITSELF 9  /* and what phone it is */
#define BRANCH_BYTES 8  /* of the tree in which phones are looked up */
#define NO_CODEBOOK UINT16_MAX

/* The numbers at the head of "mdef". */
struct counts {
    uint32_t phones, in_surroundings, states, phone_senones, senones, transitions, sequences,
        surroundings, branches, silence;
};

/* Parts of "mdef" behind its head. */
struct parts {
    const unsigned char *phones;    /* in their surroundings; these without any come first */
    const unsigned char *sequences; /* of senones, two bytes each */
};

static uint32_t number_at(const unsigned char *bytes, size_t n_bytes)
{
    uint32_t number = 0;
    for (size_t i = 0; i < n_bytes; i++) {
        number |= (uint32_t)bytes[i] << 8 * i;
    }
    return number;
}

static bool read_counts(struct sl_model_file *file, struct counts *counts)
{
    uint32_t length = 0; /* of the text that describes the file */
    uint32_t *const all[] = {&counts->phones,        &counts->in_surroundings, &counts->states,
                             &counts->phone_senones, &counts->senones,         &counts->transitions,
                             &counts->sequences,     &counts->surroundings,    &counts->branches,
                             &counts->silence};
    bool fine = sl_model_file_take(file, 8) != NULL && sl_model_file_number(file, &length) &&
                sl_model_file_take(file, length) != NULL;
    for (size_t i = 0; i < sizeof all / sizeof all[0] && fine; i++) {
        fine = sl_model_file_number(file, all[i]);
    }
    return fine;
}

/* Finds the parts; what lies between is passed over. */
static bool find_parts(struct sl_model_file *file, const struct counts *counts, struct parts *parts)
{
    size_t names = file->at;
    for (uint32_t i = 0; i < counts->phones; i++) {
        size_t left = file->length - file->at;
        size_t size = strnlen((const char *)file->data + file->at, left) + 1;
        if (sl_model_file_take(file, size) == NULL) {
            return false;
        }
    }
    size_t odd = (file->at - names) % 4; /* the rest begins on a fourth byte from the names on */
    parts->phones = NULL;
    parts->sequences = NULL;
    if (sl_model_file_take(file, odd == 0 ? 0 : 4 - odd) != NULL &&
        sl_model_file_take(file, (size_t)counts->branches * BRANCH_BYTES) != NULL) {
        parts->phones = sl_model_file_take(file, (size_t)counts->in_surroundings * PHONE_BYTES);
    }
    if (parts->phones != NULL && sl_model_file_take(file, 4) != NULL) {
        parts->sequences = sl_model_file_take(file, (size_t)counts->sequences * STATES * 2);
    }
    return parts->sequences != NULL;
}

/* Gives the senones of a phone its codebook; false when they are not there, or another's. */
static bool give_codebook(const struct counts *counts, const struct parts *parts, uint32_t phone,
                          uint16_t *codebook)
{
    const unsigned char *entry = parts->phones + (size_t)phone * PHONE_BYTES;
    uint32_t sequence = number_at(entry + PHONE_SENONES, 4);
    uint32_t itself = phone < counts->phones ? phone : entry[PHONE_ITSELF];
    if (sequence >= counts->sequences || itself >= counts->phones) {
        return false;
    }
    const unsigned char *states = parts->sequences + (size_t)sequence * STATES * 2;
    for (size_t i = 0; i < STATES; i++) {
        uint32_t senone = number_at(states + 2 * i, 2);
        if (senone >= counts->senones ||
            (codebook[senone] != NO_CODEBOOK && codebook[senone] != itself)) {
            return false;
        }
        codebook[senone] = (uint16_t)itself;
    }
    return true;
}

/* Fills *codebook, which is to be freed whatever comes back, with the codebook of each senone. */
static enum sl_status read_codebooks(struct sl_model_file *file,
                                     struct sl_senone_mixtures *mixtures, uint16_t **codebook,
                                     struct sl_error *error)
{
    struct counts counts = {0};
    struct parts parts;
    if (!read_counts(file, &counts)) {
        return sl_model_file_broken(file, error);
    }
    if (counts.phones != mixtures->n_codebooks || counts.states != STATES || counts.senones == 0 ||
        counts.senones > INT16_MAX) {
        return sl_model_file_other(file, error);
    }
    if (!find_parts(file, &counts, &parts)) {
        return sl_model_file_broken(file, error);
    }
    mixtures->n_senones = counts.senones;
    *codebook = malloc(counts.senones * sizeof **codebook);
    if (*codebook == NULL) {
        return sl_fail_memory(error);
    }
    memset(*codebook, 0xff, counts.senones * sizeof **codebook);
    bool fine = true;
    for (uint32_t i = 0; i < counts.in_surroundings && fine; i++) {
        fine = give_codebook(&counts, &parts, i, *codebook);
    }
    for (uint32_t i = 0; i < counts.senones && fine; i++) {
        fine = (*codebook)[i] != NO_CODEBOOK;
    }
    mixtures->codebook = *codebook;
    return fine ? SL_OK : sl_model_file_broken(file, error);
}

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
        densities != mixtures->n_densities || senones != mixtures->n_senones) {
        return sl_model_file_other(file, error);
    }
    mixtures->weights = sl_model_file_take(file, (size_t)SL_GAUSSIAN_STREAMS * densities * senones);
    return mixtures->weights != NULL ? SL_OK : sl_model_file_broken(file, error);
}

/* The file of weights has to stay open until the senones are made. */
static enum sl_status load(const char *folder, struct sl_senone_mixtures *mixtures,
                           struct sl_model_file *weights, uint16_t **codebook,
                           struct sl_error *error)
{
    struct sl_model_file file;
    enum sl_status status = sl_model_file_open(folder, "mdef", &file, error);
    if (status == SL_OK) {
        status = read_codebooks(&file, mixtures, codebook, error);
    }
    sl_model_file_clear(&file);
    if (status == SL_OK) {
        status = sl_model_file_open(folder, "sendump", weights, error);
    }
    return status == SL_OK ? find_weights(weights, mixtures, error) : status;
}

enum sl_status sl_mixtures_load(const char *folder, const struct sl_voice_model *model, double unit,
                                struct sl_senones **senones, struct sl_error *error)
{
    struct sl_senone_mixtures mixtures = {.n_codebooks = model->gaussians.n_codebooks,
                                          .n_densities = model->gaussians.n_densities,
                                          .unit = unit};
    struct sl_model_file weights = {0};
    uint16_t *codebook = NULL;
    enum sl_status status = load(folder, &mixtures, &weights, &codebook, error);
    if (status == SL_OK && mixtures.n_densities % SL_SENONE_BLOCK != 0) {
        status = sl_model_file_other(&weights, error);
    }
    if (status == SL_OK) {
        status = sl_senones_new(&mixtures, senones, error);
    }
    sl_model_file_clear(&weights);
    free(codebook);
    return status;
}
