#include "files/settled_file.h"

#include "core/str.h"
#include "files/atomic.h"
#include "files/digest.h"
#include "files/json_out.h"
#include "files/path.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FORMAT 1
#define MOST_BYTES 65536
#define AT_MAX_S 86400.0
#define MEND "settle it again, or mark it with --no-settled"

char *sl_settled_path(const char *recording)
{
    return sl_strf("%s.settled.json", recording);
}

static json_t *sound_object(const struct sl_digest *sound)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "bytes", json_integer((json_int_t)sound->bytes));
    sl_json_put(&json, "sha256", sl_json_text(sound->sha256));
    return sl_json_take(&json);
}

static json_t *phase_list(const struct sl_task *task, const struct sl_settlements *settlements)
{
    json_t *list = json_array();
    for (size_t i = 0; i < task->routine->n_phases; i++) {
        const struct sl_settlement *settlement = &settlements->phases[i];
        if (settlement->as == SL_SETTLED_NOT) {
            continue;
        }
        struct sl_json json = sl_json_object();
        sl_json_put(&json, "phase", sl_json_text(task->routine->phases[i].id));
        sl_json_put(&json, "as", sl_json_text(sl_settled_word(settlement->as)));
        sl_json_put(&json, "at_s", sl_json_number(settlement->at_s));
        if (!sl_json_append(list, sl_json_take(&json))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

enum sl_status sl_settled_save(const char *recording, const struct sl_task *task,
                               const struct sl_settled_file *settled, struct sl_error *error)
{
    struct sl_digest sound = {0};
    struct sl_json json = sl_json_object();
    struct sl_str text = {0};
    char *line = NULL;
    char *path = sl_settled_path(recording);
    enum sl_status status = sl_file_digest(recording, &sound, error);
    sl_json_put(&json, "format", json_integer(FORMAT));
    sl_json_put(&json, "sound", sound_object(&sound));
    sl_json_put(&json, "junction", sl_json_text(task->junction->name));
    sl_json_put(&json, "routine", sl_json_text(task->routine->name));
    sl_json_put(&json, "settled", phase_list(task, &settled->settlements));
    sl_json_put(&json, "by", sl_json_text(settled->by));
    sl_json_put(&json, "on", sl_json_text(settled->on));
    if (status == SL_OK) {
        status = sl_json_line(&json, &line, error);
    } else {
        json_decref(sl_json_take(&json));
    }
    sl_str_addf(&text, "%s\n", line == NULL ? "" : line);
    if (status == SL_OK && (path == NULL || text.failed)) {
        status = sl_fail_memory(error);
    }
    if (status == SL_OK) {
        status = sl_write_text_file(path, sl_str_text(&text), text.length, error);
    }
    sl_str_clear(&text);
    free(line);
    free(path);
    return status;
}

/* Text or null under the key; false for anything else, or when memory runs out. */
static bool take_text(const json_t *object, const char *key, char **text)
{
    const json_t *value = json_object_get(object, key);
    if (value == NULL || json_is_null(value)) {
        return true;
    }
    *text = sl_strdup(json_string_value(value));
    return *text != NULL;
}

static bool take_phase(const json_t *object, const struct sl_routine *routine,
                       struct sl_settlements *settlements)
{
    const char *id = json_string_value(json_object_get(object, "phase"));
    const char *as = json_string_value(json_object_get(object, "as"));
    const json_t *at = json_object_get(object, "at_s");
    size_t phase = id == NULL ? routine->n_phases : sl_routine_phase(routine, id);
    if (phase == routine->n_phases || as == NULL ||
        settlements->phases[phase].as != SL_SETTLED_NOT) {
        return false;
    }
    double at_s = json_is_number(at) ? json_number_value(at) : NAN;
    settlements->phases[phase] =
        (struct sl_settlement){.as = sl_settled_from_word(as), .at_s = at_s};
    return settlements->phases[phase].as != SL_SETTLED_NOT &&
           (isnan(at_s) || (at_s >= 0 && at_s <= AT_MAX_S));
}

/* The key whose value is wrong, or NULL. */
static const char *take_all(const json_t *object, const struct sl_task *task,
                            struct sl_settled_file *settled)
{
    const json_t *list = json_object_get(object, "settled");
    if (json_integer_value(json_object_get(object, "format")) != FORMAT) {
        return "format";
    }
    for (size_t i = 0; i < json_array_size(list); i++) {
        if (!take_phase(json_array_get(list, i), task->routine, &settled->settlements)) {
            return "settled";
        }
    }
    if (!take_text(object, "by", &settled->by)) {
        return "by";
    }
    if (!take_text(object, "on", &settled->on)) {
        return "on";
    }
    return json_is_array(list) ? NULL : "settled";
}

static bool has_text(const json_t *object, const char *key, const char *text)
{
    const char *value = json_string_value(json_object_get(object, key));
    return value != NULL && text != NULL && strcmp(value, text) == 0;
}

/* The decisions are about this recording, at this junction, by this routine. */
static enum sl_status check_about(const char *path, const json_t *object,
                                  const struct sl_digest *sound, const struct sl_task *task,
                                  struct sl_error *error)
{
    const json_t *of = json_object_get(object, "sound");
    if (!has_text(of, "sha256", sound->sha256) ||
        json_integer_value(json_object_get(of, "bytes")) != (json_int_t)sound->bytes) {
        return sl_fail(error, SL_INVALID, path, MEND,
                       "the recording is not the one that was settled: it was changed since");
    }
    if (!has_text(object, "junction", task->junction->name) ||
        !has_text(object, "routine", task->routine->name)) {
        return sl_fail(error, SL_INVALID, path, MEND,
                       "it was settled for another junction or routine");
    }
    return SL_OK;
}

static enum sl_status read_object(const char *path, json_t **object, struct sl_error *error)
{
    struct sl_str text = {0};
    enum sl_status status = sl_read_text_file(path, MOST_BYTES, &text, error);
    if (status == SL_OK) {
        json_error_t at;
        *object = json_loadb(sl_str_text(&text), text.length, JSON_REJECT_DUPLICATES, &at);
        if (!json_is_object(*object)) {
            status = sl_fail(error, SL_FORMAT, path, MEND, "this is no settled file: %s",
                             *object == NULL ? at.text : "no object");
        }
    }
    sl_str_clear(&text);
    return status;
}

enum sl_status sl_settled_load(const char *recording, const struct sl_task *task,
                               struct sl_settled_file *settled, struct sl_error *error)
{
    struct sl_settled_file made = {0};
    struct sl_digest sound = {0};
    json_t *object = NULL;
    char *path = sl_settled_path(recording);
    enum sl_status status =
        path == NULL ? sl_fail_memory(error) : read_object(path, &object, error);
    if (status == SL_OK) {
        status = sl_file_digest(recording, &sound, error);
    }
    if (status == SL_OK) {
        status = check_about(path, object, &sound, task, error);
    }
    if (status == SL_OK) {
        const char *wrong = take_all(object, task, &made);
        status = wrong == NULL
                     ? SL_OK
                     : sl_fail(error, SL_FORMAT, path, MEND,
                               "this is no settled file that can be used: \"%s\" is wrong", wrong);
    }
    json_decref(object);
    free(path);
    if (status != SL_OK) {
        sl_settled_clear(&made);
        return status;
    }
    *settled = made;
    return SL_OK;
}

enum sl_status sl_settled_remove(const char *recording, struct sl_error *error)
{
    char *path = sl_settled_path(recording);
    enum sl_status status = path == NULL ? sl_fail_memory(error) : SL_OK;
    if (status == SL_OK && unlink(path) != 0) {
        status = errno == ENOENT ? sl_fail(error, SL_NOT_FOUND, recording, NULL,
                                           "nothing was settled for this recording")
                                 : sl_fail(error, SL_IO, path, "remove the file by hand",
                                           "it cannot be removed: %s", strerror(errno));
    }
    free(path);
    return status;
}

void sl_settled_clear(struct sl_settled_file *settled)
{
    if (settled == NULL) {
        return;
    }
    free(settled->by);
    free(settled->on);
    *settled = (struct sl_settled_file){0};
}
