#include "speech/model_definition.h"

#include "speech/model_file.h"

#include <stdlib.h>
#include <string.h>

#define STATES 3        /* of a phone */
#define PHONE_BYTES 12  /* of a phone in its surroundings: two numbers, a place, three phones */
#define PHONE_SENONES 0 /* where in them which sequence of senones it has */
#define PHONE_ITSELF 9  /* and what phone it is */
#define BRANCH_BYTES 8  /* of the tree in which phones are looked up */
#define NOBODYS UINT16_MAX

/* The numbers at the head. */
struct counts {
    uint32_t phones, in_surroundings, states, phone_senones, senones, transitions, sequences,
        surroundings, branches, silence;
};

/* Parts behind the phones' names. */
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

/* The file begins with its kind, its version, and a text that describes it. */
static enum sl_status read_counts(struct sl_model_file *file, struct counts *counts,
                                  struct sl_error *error)
{
    uint32_t length = 0;
    uint32_t *const all[] = {&counts->phones,        &counts->in_surroundings, &counts->states,
                             &counts->phone_senones, &counts->senones,         &counts->transitions,
                             &counts->sequences,     &counts->surroundings,    &counts->branches,
                             &counts->silence};
    const unsigned char *kind = sl_model_file_take(file, 4);
    if (kind != NULL && memcmp(kind, "BMDF", 4) != 0) {
        return sl_model_file_other(file, error);
    }
    bool fine = kind != NULL && sl_model_file_take(file, 4) != NULL &&
                sl_model_file_number(file, &length) && sl_model_file_take(file, length) != NULL;
    for (size_t i = 0; i < sizeof all / sizeof all[0] && fine; i++) {
        fine = sl_model_file_number(file, all[i]);
    }
    return fine ? SL_OK : sl_model_file_broken(file, error);
}

static bool read_phones(struct sl_model_file *file, struct sl_model_definition *definition)
{
    for (size_t i = 0; i < definition->n_phones; i++) {
        size_t left = file->length - file->at;
        size_t size = strnlen((const char *)file->data + file->at, left) + 1;
        const unsigned char *name = sl_model_file_take(file, size);
        if (name == NULL || size > SL_PHONE_NAME_SIZE) {
            return false;
        }
        memcpy(definition->phones[i], name, size);
    }
    return true;
}

/* Finds the parts, `names` being where the phones' names began; what lies between is passed over.
 */
static bool find_parts(struct sl_model_file *file, const struct counts *counts, size_t names,
                       struct parts *parts)
{
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

/* Gives the senones of a phone to it; false when they are not there, or another's. */
static bool give_senones(const struct counts *counts, const struct parts *parts, uint32_t phone,
                         uint16_t *of_senone)
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
            (of_senone[senone] != NOBODYS && of_senone[senone] != itself)) {
            return false;
        }
        of_senone[senone] = (uint16_t)itself;
    }
    return true;
}

/* Each senone is to be somebody's. */
static bool give_all(const struct counts *counts, const struct parts *parts, uint16_t *of_senone)
{
    memset(of_senone, 0xff, counts->senones * sizeof *of_senone);
    bool fine = true;
    for (uint32_t i = 0; i < counts->in_surroundings && fine; i++) {
        fine = give_senones(counts, parts, i, of_senone);
    }
    for (uint32_t i = 0; i < counts->senones && fine; i++) {
        fine = of_senone[i] != NOBODYS;
    }
    return fine;
}

static enum sl_status read_definition(struct sl_model_file *file, size_t n_phones,
                                      struct sl_model_definition *definition,
                                      struct sl_error *error)
{
    struct counts counts = {0};
    struct parts parts;
    enum sl_status status = read_counts(file, &counts, error);
    if (status != SL_OK) {
        return status;
    }
    if (counts.phones == 0 || counts.phones != n_phones || counts.states != STATES ||
        counts.senones == 0 || counts.senones > INT16_MAX) {
        return sl_model_file_other(file, error);
    }
    definition->n_phones = counts.phones;
    definition->n_senones = counts.senones;
    definition->phones = calloc(counts.phones, sizeof *definition->phones);
    definition->of_senone = calloc(counts.senones, sizeof *definition->of_senone);
    if (definition->phones == NULL || definition->of_senone == NULL) {
        return sl_fail_memory(error);
    }
    size_t names = file->at;
    bool fine = read_phones(file, definition) && find_parts(file, &counts, names, &parts) &&
                give_all(&counts, &parts, definition->of_senone);
    return fine ? SL_OK : sl_model_file_broken(file, error);
}

enum sl_status sl_model_definition_load(const char *folder, size_t n_phones,
                                        struct sl_model_definition *definition,
                                        struct sl_error *error)
{
    struct sl_model_file file;
    *definition = (struct sl_model_definition){0};
    enum sl_status status = sl_model_file_open(folder, "mdef", &file, error);
    if (status == SL_OK) {
        status = read_definition(&file, n_phones, definition, error);
    }
    sl_model_file_clear(&file);
    return status;
}

void sl_model_definition_clear(struct sl_model_definition *definition)
{
    if (definition == NULL) {
        return;
    }
    free(definition->phones);
    free(definition->of_senone);
    *definition = (struct sl_model_definition){0};
}
