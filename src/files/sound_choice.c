#include "files/sound_choice.h"

#include "core/str.h"
#include "files/atomic.h"
#include "files/json_out.h"
#include "files/path.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FILE_SIZE_MAX ((size_t)1 << 20)
#define MEAN_MOST 200.0
#define KEY_VERSION "sayline_soundcheck"
#define KEY_VOICE "voice"
#define KEY_MEAN "cepstral_mean"

/* The measured figures of the file. */
static const struct figure {
    const char *key;
    size_t offset;
    double least, most;
} figures[] = {
    {"noise_db", offsetof(struct sl_sound_choice, noise_db), -200.0, 0.0},
    {"speech_db", offsetof(struct sl_sound_choice, speech_db), -200.0, 0.0},
    {"leak_db", offsetof(struct sl_sound_choice, leak_db), -200.0, 100.0},
    {"round_trip_s", offsetof(struct sl_sound_choice, round_trip_s), 0.0, 10.0},
};
enum { N_FIGURES = sizeof figures / sizeof *figures };

void sl_sound_choice_clear(struct sl_sound_choice *choice)
{
    if (choice == NULL) {
        return;
    }
    free(choice->input);
    free(choice->output);
    free(choice->voice_input);
    *choice = (struct sl_sound_choice){0};
}

enum sl_status sl_sound_choice_path(char **path, struct sl_error *error)
{
    const char *config = getenv("XDG_CONFIG_HOME");
    const char *home = getenv("HOME");
    char *made = NULL;
    if (config != NULL && config[0] == '/') { /* the XDG rules: a relative one is passed over */
        made = sl_strf("%s/sayline/soundcheck.json", config);
    } else if (home != NULL && home[0] != '\0') {
        made = sl_strf("%s/.config/sayline/soundcheck.json", home);
    } else {
        return sl_fail(error, SL_NOT_FOUND, NULL, "set XDG_CONFIG_HOME to a folder of yours",
                       "there is no home folder to keep soundcheck.json in");
    }
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    *path = made;
    return SL_OK;
}

static enum sl_status fail_format(const char *path, const char *what, struct sl_error *error)
{
    return sl_fail(
        error, SL_FORMAT, path,
        "mend the file, or move it away and run `sayline soundcheck`; it was not changed", "%s",
        what);
}

/* A text, or NULL where there is none (missing or null). False when it is something else or memory
 * ran out; `what` says which. */
static enum sl_status read_text(const json_t *object, const char *key, const char *path,
                                char **text, struct sl_error *error)
{
    const json_t *value = json_object_get(object, key);
    if (value == NULL || json_is_null(value)) {
        return SL_OK;
    }
    if (!json_is_string(value) || json_string_value(value)[0] == '\0') {
        return fail_format(path, "the name of a device is no text", error);
    }
    *text = sl_strdup(json_string_value(value));
    return *text == NULL ? sl_fail_memory(error) : SL_OK;
}

static enum sl_status read_mean(const json_t *list, const char *path, struct sl_voice *voice,
                                struct sl_error *error)
{
    bool fine = json_is_array(list) && json_array_size(list) == SL_VOICE_CEPSTRA;
    for (size_t i = 0; fine && i < SL_VOICE_CEPSTRA; i++) {
        const json_t *item = json_array_get(list, i);
        voice->mean[i] = json_number_value(item);
        fine = json_is_number(item) && fabs(voice->mean[i]) <= MEAN_MOST;
    }
    voice->known = fine;
    return fine ? SL_OK
                : fail_format(path, "the voice's " KEY_MEAN " is no list of 13 figures in range",
                              error);
}

static enum sl_status read_voice(const json_t *root, const char *path,
                                 struct sl_sound_choice *choice, struct sl_error *error)
{
    const json_t *voice = json_object_get(root, KEY_VOICE);
    if (voice == NULL || json_is_null(voice)) {
        return SL_OK;
    }
    enum sl_status status =
        read_mean(json_object_get(voice, KEY_MEAN), path, &choice->voice, error);
    return status == SL_OK ? read_text(voice, "input", path, &choice->voice_input, error) : status;
}

static enum sl_status read_figure(const json_t *root, const struct figure *figure, const char *path,
                                  struct sl_sound_choice *choice, struct sl_error *error)
{
    const json_t *value = json_object_get(root, figure->key);
    if (value == NULL || json_is_null(value)) {
        return SL_OK;
    }
    double read = json_number_value(value);
    if (!json_is_number(value) || read < figure->least || read > figure->most) {
        char *what =
            sl_strf("%s is no figure from %g to %g", figure->key, figure->least, figure->most);
        enum sl_status status = fail_format(path, what == NULL ? figure->key : what, error);
        free(what);
        return status;
    }
    struct sl_measured measured = {.known = true, .value = read};
    memcpy((char *)choice + figure->offset, &measured, sizeof measured);
    return SL_OK;
}

static enum sl_status read_root(const json_t *root, const char *path,
                                struct sl_sound_choice *choice, struct sl_error *error)
{
    const json_t *version = json_object_get(root, KEY_VERSION);
    if (!json_is_integer(version) || json_integer_value(version) < 1) {
        return fail_format(path, "this is not the file of a sound check", error);
    }
    if (json_integer_value(version) > SL_SOUND_CHOICE_VERSION) {
        return sl_fail(error, SL_UNSUPPORTED, path, "use the later program, or move the file away",
                       "the file was written by a later version of sayline");
    }
    enum sl_status status = read_text(root, "input", path, &choice->input, error);
    if (status == SL_OK) {
        status = read_text(root, "output", path, &choice->output, error);
    }
    if (status == SL_OK) {
        status = read_voice(root, path, choice, error);
    }
    for (size_t i = 0; status == SL_OK && i < N_FIGURES; i++) {
        status = read_figure(root, &figures[i], path, choice, error);
    }
    return status;
}

/* The file as JSON, which the caller owns; NULL in *root when there is none. */
static enum sl_status read_json(const char *path, json_t **root, struct sl_error *error)
{
    struct sl_str text = {0};
    struct sl_error found = {0};
    json_error_t wrong;
    enum sl_status status = sl_read_text_file(path, FILE_SIZE_MAX, &text, &found);
    json_t *made = NULL;
    if (status == SL_NOT_FOUND) {
        status = SL_OK;
    } else if (status != SL_OK) {
        sl_fail(error, status, found.where, found.mend, "%s",
                found.what == NULL ? sl_status_name(status) : found.what);
    } else if ((made = json_loadb(sl_str_text(&text), text.length, JSON_REJECT_DUPLICATES,
                                  &wrong)) == NULL) {
        char *where = sl_strf("%s:%d:%d", path, wrong.line, wrong.column);
        status =
            fail_format(where == NULL ? path : where, "this is not JSON, or not all of it", error);
        free(where);
    }
    sl_error_clear(&found);
    sl_str_clear(&text);
    if (status == SL_OK) {
        *root = made;
    }
    return status;
}

enum sl_status sl_sound_choice_load(const char *path, struct sl_sound_choice *choice,
                                    struct sl_error *error)
{
    json_t *root = NULL;
    struct sl_sound_choice made = {0};
    enum sl_status status = read_json(path, &root, error);
    if (status == SL_OK && root != NULL) {
        status = read_root(root, path, &made, error);
    }
    json_decref(root);
    if (status != SL_OK) {
        sl_sound_choice_clear(&made);
        return status;
    }
    sl_sound_choice_clear(choice);
    *choice = made;
    return SL_OK;
}

enum sl_status sl_sound_choice_load_usual(struct sl_sound_choice *choice, struct sl_error *error)
{
    char *path = NULL;
    enum sl_status status = sl_sound_choice_path(&path, error);
    if (status == SL_OK) {
        status = sl_sound_choice_load(path, choice, error);
    }
    free(path);
    return status;
}

static json_t *voice_json(const struct sl_sound_choice *choice)
{
    if (!choice->voice.known) {
        return json_null();
    }
    struct sl_json voice = sl_json_object();
    json_t *list = json_array();
    bool fine = true;
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        fine = sl_json_append(list, sl_json_number(choice->voice.mean[i])) && fine;
    }
    voice.failed = voice.failed || !fine;
    sl_json_put(&voice, "input", sl_json_text(choice->voice_input));
    sl_json_put(&voice, KEY_MEAN, list);
    return sl_json_take(&voice);
}

static void put_all(struct sl_json *json, const struct sl_sound_choice *choice)
{
    sl_json_put(json, KEY_VERSION, json_integer(SL_SOUND_CHOICE_VERSION));
    sl_json_put(json, "input", sl_json_text(choice->input));
    sl_json_put(json, "output", sl_json_text(choice->output));
    sl_json_put(json, KEY_VOICE, voice_json(choice));
    for (size_t i = 0; i < N_FIGURES; i++) {
        struct sl_measured measured;
        memcpy(&measured, (const char *)choice + figures[i].offset, sizeof measured);
        sl_json_put(json, figures[i].key,
                    measured.known ? sl_json_number(measured.value) : json_null());
    }
}

enum sl_status sl_sound_choice_save(const char *path, const struct sl_sound_choice *choice,
                                    struct sl_error *error)
{
    json_t *root = NULL;
    struct sl_sound_choice old = {0};
    enum sl_status status = read_json(path, &root, error);
    if (status == SL_OK && root != NULL) {
        status = read_root(root, path, &old, error);
    }
    sl_sound_choice_clear(&old);
    if (status != SL_OK) {
        json_decref(root);
        return status;
    }
    struct sl_json json = sl_json_object();
    if (root != NULL) { /* what a later version put there stays */
        json_decref(json.object);
        json.object = root;
        json.failed = false;
    }
    put_all(&json, choice);
    json_t *whole = sl_json_take(&json);
    char *text = whole == NULL ? NULL : json_dumps(whole, JSON_INDENT(2) | JSON_REAL_PRECISION(15));
    json_decref(whole);
    if (text == NULL) {
        return sl_fail_memory(error);
    }
    char *lines = sl_strf("%s\n", text);
    free(text);
    status = lines == NULL ? sl_fail_memory(error)
                           : sl_write_text_file(path, lines, strlen(lines), error);
    free(lines);
    return status;
}

struct sl_voice sl_sound_choice_voice(const struct sl_sound_choice *choice, const char *input)
{
    bool same = input == NULL || choice->voice_input == NULL
                    ? input == choice->voice_input
                    : strcmp(input, choice->voice_input) == 0;
    return same ? choice->voice : (struct sl_voice){0};
}
