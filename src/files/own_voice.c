#include "files/own_voice.h"

#include "core/hash.h"
#include "core/str.h"
#include "files/atomic.h"
#include "files/json_out.h"
#include "files/learner.h"
#include "files/path.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_BYTES ((size_t)1 << 20)
#define TIME_MAX_S 1e12 /* beyond any clock of ours, and exact as a double */
#define MEND "read the phrases again with `sayline voice`, or remove the file"

enum sl_status sl_own_voice_path(const char *learner, char **path, struct sl_error *error)
{
    return sl_learner_file(learner, "voice.json", path, error);
}

static bool read_figure(const json_t *object, const char *key, double most, double *value)
{
    const json_t *figure = json_object_get(object, key);
    double read = json_is_number(figure) ? json_number_value(figure) : -1.0;
    bool fine = read >= 0.0 && read <= most;
    if (fine) {
        *value = read;
    }
    return fine;
}

/* 16 hexadecimal digits. */
static bool read_hex(const json_t *value, uint64_t *number)
{
    const char *text = json_string_value(value);
    bool fine =
        text != NULL && strlen(text) == 16 && strspn(text, "0123456789abcdef") == strlen(text);
    if (fine) {
        *number = strtoull(text, NULL, 16);
    }
    return fine;
}

static bool read_matrix(const json_t *rows, struct sl_mllr_matrix *matrix)
{
    bool fine = json_array_size(rows) == SL_VOICE_CEPSTRA;
    for (size_t i = 0; i < SL_VOICE_CEPSTRA && fine; i++) {
        const json_t *row = json_array_get(rows, i);
        fine = json_array_size(row) == SL_MLLR_COLUMNS;
        for (size_t k = 0; k < SL_MLLR_COLUMNS && fine; k++) {
            const json_t *number = json_array_get(row, k);
            fine = json_is_number(number);
            matrix->rows[i][k] = json_number_value(number);
        }
    }
    return fine;
}

static bool read_all(const json_t *root, struct sl_own_voice *voice)
{
    const json_t *streams = json_object_get(root, "streams");
    double n_read = 0;
    bool fine = read_hex(json_object_get(root, "model"), &voice->model) &&
                read_figure(root, "learnt_s", TIME_MAX_S, &voice->learnt_s) &&
                read_figure(root, "phrases", 1e6, &n_read) &&
                read_figure(root, "right_before", 1, &voice->right_before) &&
                read_figure(root, "right_after", 1, &voice->right_after) &&
                json_array_size(streams) == SL_GAUSSIAN_STREAMS;
    voice->n_read = (size_t)n_read;
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS && fine; s++) {
        fine = read_matrix(json_array_get(streams, s), &voice->mllr.streams[s]);
    }
    return fine && sl_mllr_is_sound(&voice->mllr);
}

static enum sl_status read_root(const json_t *root, const char *path, struct sl_own_voice *voice,
                                struct sl_error *error)
{
    const json_t *version = json_object_get(root, "version");
    if (json_is_integer(version) && json_integer_value(version) > SL_OWN_VOICE_VERSION) {
        return sl_fail(error, SL_UNSUPPORTED, path, "use the newer sayline",
                       "this voice was kept by a later version of sayline");
    }
    if (!json_is_integer(version) || json_integer_value(version) != SL_OWN_VOICE_VERSION ||
        !read_all(root, voice)) {
        return sl_fail(error, SL_FORMAT, path, MEND, "this is no voice that sayline kept");
    }
    voice->known = true;
    return SL_OK;
}

enum sl_status sl_own_voice_load(const char *path, struct sl_own_voice *voice,
                                 struct sl_error *error)
{
    struct sl_own_voice made = {0};
    if (!sl_path_exists(path)) {
        *voice = made;
        return SL_OK;
    }
    struct sl_str text = {0};
    enum sl_status status = sl_read_text_file(path, MOST_BYTES, &text, error);
    if (status == SL_OK) {
        json_t *root = json_loadb(sl_str_text(&text), text.length, JSON_REJECT_DUPLICATES, NULL);
        status = read_root(root, path, &made, error);
        json_decref(root);
    }
    sl_str_clear(&text);
    if (status == SL_OK) {
        *voice = made;
    }
    return status;
}

static json_t *matrix_json(const struct sl_mllr_matrix *matrix)
{
    json_t *rows = json_array();
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        json_t *row = json_array();
        bool fine = true;
        for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
            fine = sl_json_append(row, json_real(matrix->rows[i][k])) && fine;
        }
        if (!sl_json_append(rows, row) || !fine) {
            json_decref(rows);
            return NULL;
        }
    }
    return rows;
}

static json_t *streams_json(const struct sl_mllr *mllr)
{
    json_t *streams = json_array();
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
        if (!sl_json_append(streams, matrix_json(&mllr->streams[s]))) {
            json_decref(streams);
            return NULL;
        }
    }
    return streams;
}

enum sl_status sl_own_voice_save(const char *path, const struct sl_own_voice *voice,
                                 struct sl_error *error)
{
    struct sl_json json = sl_json_object();
    char *model = sl_strf("%016" PRIx64, voice->model);
    sl_json_put(&json, "version", json_integer(SL_OWN_VOICE_VERSION));
    sl_json_put(&json, "model", model == NULL ? NULL : json_string(model));
    sl_json_put(&json, "learnt_s", sl_json_number(voice->learnt_s));
    sl_json_put(&json, "phrases", json_integer((json_int_t)voice->n_read));
    sl_json_put(&json, "right_before", sl_json_number(voice->right_before));
    sl_json_put(&json, "right_after", sl_json_number(voice->right_after));
    sl_json_put(&json, "streams", streams_json(&voice->mllr));
    free(model);
    json_t *whole = sl_json_take(&json);
    char *text = whole == NULL ? NULL : json_dumps(whole, JSON_COMPACT);
    json_decref(whole);
    if (text == NULL) {
        return sl_fail_memory(error);
    }
    char *line = sl_strf("%s\n", text);
    free(text);
    enum sl_status status =
        line == NULL ? sl_fail_memory(error) : sl_write_text_file(path, line, strlen(line), error);
    free(line);
    return status;
}

enum sl_status sl_own_voice_remove(const char *path, struct sl_error *error)
{
    if (remove(path) == 0 || errno == ENOENT) {
        return SL_OK;
    }
    return sl_fail(error, SL_IO, path, NULL, "the file cannot be removed: %s", strerror(errno));
}

void sl_own_voice_id(const struct sl_own_voice *voice, char id[SL_OWN_VOICE_ID_SIZE])
{
    uint64_t hash = SL_HASH_START;
    for (size_t at = 0; at < (size_t)SL_GAUSSIAN_STREAMS * SL_VOICE_CEPSTRA * SL_MLLR_COLUMNS;
         at++) {
        size_t row = at / SL_MLLR_COLUMNS;
        const struct sl_mllr_matrix *matrix = &voice->mllr.streams[row / SL_VOICE_CEPSTRA];
        float number = (float)matrix->rows[row % SL_VOICE_CEPSTRA][at % SL_MLLR_COLUMNS];
        uint32_t bits = 0;
        memcpy(&bits, &number, sizeof(bits));
        const unsigned char bytes[] = {(unsigned char)bits, (unsigned char)(bits >> 8),
                                       (unsigned char)(bits >> 16), (unsigned char)(bits >> 24)};
        hash = sl_hash(hash, bytes, sizeof(bytes));
    }
    (void)snprintf(id, SL_OWN_VOICE_ID_SIZE, "%016" PRIx64, hash);
}

enum sl_status sl_own_voice_to_json(const struct sl_own_voice *voice,
                                    const struct sl_own_voice_trial *trial, char **json,
                                    struct sl_error *error)
{
    struct sl_json object = sl_json_object();
    char id[SL_OWN_VOICE_ID_SIZE];
    sl_own_voice_id(voice, id);
    sl_json_put(&object, "voice", voice->known ? json_string(id) : json_null());
    if (trial != NULL) {
        sl_json_put(&object, "helps", json_boolean(trial->helps));
        sl_json_put(&object, "better", json_integer((json_int_t)trial->n_better));
        sl_json_put(&object, "worse", json_integer((json_int_t)trial->n_worse));
    }
    if (trial != NULL || voice->known) {
        sl_json_put(&object, "learnt_s", sl_json_number(voice->learnt_s));
        sl_json_put(&object, "phrases", json_integer((json_int_t)voice->n_read));
        sl_json_put(&object, "right_before", sl_json_number(voice->right_before));
        sl_json_put(&object, "right_after", sl_json_number(voice->right_after));
    }
    return sl_json_line(&object, json, error);
}
