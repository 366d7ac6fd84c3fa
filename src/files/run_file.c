#include "files/run_file.h"

#include "core/str.h"
#include "files/atomic.h"
#include "files/json_out.h"
#include "files/path.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FORMAT 1
#define MOST_BYTES 65536
#define FROM_MAX_S 86400.0
#define SEED_MAX 4294967295

char *sl_run_file_path(const char *recording)
{
    const char *slash = strrchr(recording, '/');
    const char *name = slash == NULL ? recording : slash + 1;
    const char *dot = strrchr(name, '.');
    int length = dot == NULL || dot == name ? (int)strlen(recording) : (int)(dot - recording);
    return sl_strf("%.*s.run.json", length, recording);
}

static json_t *run_object(const struct sl_run_file *run)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "format", json_integer(FORMAT));
    sl_json_put(&json, "junction", sl_json_text(run->junction));
    sl_json_put(&json, "routine", sl_json_text(run->routine));
    sl_json_put(&json, "car", sl_json_text(run->car));
    sl_json_put(&json, "prompting", sl_json_text(run->prompting));
    sl_json_put(&json, "from_s", sl_json_number(run->from_known ? run->from_s : NAN));
    sl_json_put(&json, "ended", sl_json_text(run->ended));
    sl_json_put(&json, "xruns", json_integer((json_int_t)run->xruns));
    sl_json_put(&json, "lost_s", sl_json_number(run->lost_s));
    sl_json_put(&json, "starved_s", sl_json_number(run->starved_s));
    sl_json_put(&json, "half_duplex", json_boolean(run->half_duplex));
    sl_json_put(&json, "seed", run->driven ? json_integer((json_int_t)run->seed) : json_null());
    sl_json_put(&json, "sayline", sl_json_text(run->version));
    return sl_json_take(&json);
}

enum sl_status sl_run_file_save(const char *path, const struct sl_run_file *run,
                                struct sl_error *error)
{
    struct sl_json json = {.object = run_object(run)};
    json.failed = json.object == NULL;
    char *line = NULL;
    enum sl_status status = sl_json_line(&json, &line, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_str text = {0};
    sl_str_addf(&text, "%s\n", line);
    status = text.failed ? sl_fail_memory(error)
                         : sl_write_text_file(path, sl_str_text(&text), text.length, error);
    sl_str_clear(&text);
    free(line);
    return status;
}

/* The text of a key; NULL where there is none or null. False: another kind of value. */
static bool take_text(const json_t *object, const char *key, char **text)
{
    const json_t *value = json_object_get(object, key);
    if (value == NULL || json_is_null(value)) {
        return true;
    }
    *text = json_is_string(value) ? sl_strdup(json_string_value(value)) : NULL;
    return *text != NULL;
}

static bool take_from(const json_t *object, struct sl_run_file *run)
{
    const json_t *value = json_object_get(object, "from_s");
    if (value == NULL || json_is_null(value)) {
        return true;
    }
    run->from_s = json_number_value(value);
    run->from_known = true;
    return json_is_number(value) && run->from_s >= 0 && run->from_s <= FROM_MAX_S;
}

static bool take_seed(const json_t *object, struct sl_run_file *run)
{
    const json_t *value = json_object_get(object, "seed");
    json_int_t seed = json_integer_value(value);
    run->driven = json_is_integer(value);
    run->seed = run->driven ? (uint64_t)seed : 0;
    return value == NULL || json_is_null(value) || (run->driven && seed >= 0 && seed <= SEED_MAX);
}

static bool take_counts(const json_t *object, struct sl_run_file *run)
{
    const json_t *xruns = json_object_get(object, "xruns");
    const json_t *lost = json_object_get(object, "lost_s");
    const json_t *starved = json_object_get(object, "starved_s");
    json_int_t n = json_integer_value(xruns);
    run->xruns = n < 0 ? 0 : (unsigned)n;
    run->lost_s = json_number_value(lost);
    run->starved_s = json_number_value(starved);
    run->half_duplex = json_is_true(json_object_get(object, "half_duplex"));
    return (xruns == NULL || json_is_integer(xruns)) && (lost == NULL || json_is_number(lost)) &&
           (starved == NULL || json_is_number(starved));
}

/* The key whose value is wrong, or NULL. */
static const char *take_all(const json_t *object, struct sl_run_file *run)
{
    const struct {
        const char *key;
        char **text;
    } texts[] = {
        {"junction", &run->junction}, {"routine", &run->routine},     {"car", &run->car},
        {"ended", &run->ended},       {"prompting", &run->prompting}, {"sayline", &run->version},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        if (!take_text(object, texts[i].key, texts[i].text)) {
            return texts[i].key;
        }
    }
    if (run->junction == NULL) {
        return "junction";
    }
    if (json_integer_value(json_object_get(object, "format")) != FORMAT) {
        return "format";
    }
    if (!take_from(object, run)) {
        return "from_s";
    }
    if (!take_seed(object, run)) {
        return "seed";
    }
    return take_counts(object, run) ? NULL : "xruns";
}

enum sl_status sl_run_file_load(const char *path, struct sl_run_file *run, struct sl_error *error)
{
    struct sl_str text = {0};
    struct sl_run_file made = {0};
    json_t *object = NULL;
    enum sl_status status = sl_read_text_file(path, MOST_BYTES, &text, error);
    if (status == SL_OK) {
        json_error_t at;
        object = json_loadb(sl_str_text(&text), text.length, JSON_REJECT_DUPLICATES, &at);
        if (!json_is_object(object)) {
            status = sl_fail(error, SL_FORMAT, path, "give --junction, or remove the file",
                             "this is no run file: %s", object == NULL ? at.text : "no object");
        }
    }
    if (status == SL_OK) {
        const char *wrong = take_all(object, &made);
        if (wrong != NULL) {
            status = sl_fail(error, SL_FORMAT, path, "give --junction, or remove the file",
                             "this is no run file that can be used: \"%s\" is wrong", wrong);
        }
    }
    json_decref(object);
    sl_str_clear(&text);
    if (status != SL_OK) {
        sl_run_file_clear(&made);
        return status;
    }
    *run = made;
    return SL_OK;
}

void sl_run_file_clear(struct sl_run_file *run)
{
    free(run->junction);
    free(run->routine);
    free(run->car);
    free(run->prompting);
    free(run->version);
    free(run->ended);
    *run = (struct sl_run_file){0};
}

enum sl_status sl_run_to_json(const char *result, const struct sl_run_file *run, char **json,
                              struct sl_error *error)
{
    json_t *object = json_loads(result, 0, NULL);
    struct sl_json made = {.object = object, .failed = !json_is_object(object)};
    if (!made.failed) {
        sl_json_put(&made, "run", run_object(run));
    }
    return sl_json_line(&made, json, error);
}
