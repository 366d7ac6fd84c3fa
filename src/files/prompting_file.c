#include "files/prompting_file.h"

#include "core/str.h"
#include "files/atomic.h"
#include "files/json_out.h"
#include "files/path.h"

#include <limits.h>
#include <stdlib.h>

#define FORMAT 1
#define MOST_BYTES (1 << 20)
#define MEND "remove the file; prompting then begins at full again"

/* The object in the file; a new one where there is no file. The caller releases. */
static enum sl_status read_object(const char *path, json_t **object, struct sl_error *error)
{
    struct sl_str text = {0};
    enum sl_status status = SL_OK;
    if (!sl_path_exists(path)) {
        *object = json_pack("{s:i, s:{}}", "format", FORMAT, "routines");
        return *object != NULL ? SL_OK : sl_fail_memory(error);
    }
    status = sl_read_text_file(path, MOST_BYTES, &text, error);
    if (status == SL_OK) {
        json_error_t at;
        json_t *read = json_loadb(sl_str_text(&text), text.length, JSON_REJECT_DUPLICATES, &at);
        bool ours = json_integer_value(json_object_get(read, "format")) == FORMAT &&
                    json_is_object(json_object_get(read, "routines"));
        if (ours) {
            *object = read;
        } else {
            json_decref(read);
            status = sl_fail(error, SL_FORMAT, path, MEND, "this is no file of prompting levels");
        }
    }
    sl_str_clear(&text);
    return status;
}

static bool read_count(const json_t *state, const char *key, unsigned *count)
{
    const json_t *value = json_object_get(state, key);
    json_int_t n = json_integer_value(value);
    *count = n < 0 || n > UINT_MAX ? 0 : (unsigned)n;
    return json_is_integer(value) && n == (json_int_t)*count;
}

enum sl_status sl_prompting_load(const char *path, const char *routine, struct sl_fading *fading,
                                 struct sl_error *error)
{
    json_t *object = NULL;
    enum sl_status status = read_object(path, &object, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_fading made = sl_fading_start();
    const json_t *state = json_object_get(json_object_get(object, "routines"), routine);
    if (state != NULL) {
        const char *word = json_string_value(json_object_get(state, "level"));
        made.level = word == NULL ? SL_PROMPTING_COUNT : sl_prompting_from_word(word);
        if (made.level == SL_PROMPTING_COUNT ||
            !read_count(state, "clean_runs", &made.clean_runs) ||
            !read_count(state, "late_runs", &made.late_runs)) {
            status = sl_fail(error, SL_FORMAT, path, MEND,
                             "the prompting level of %s cannot be read", routine);
        }
    }
    json_decref(object);
    if (status == SL_OK) {
        *fading = made;
    }
    return status;
}

enum sl_status sl_prompting_save(const char *path, const char *routine,
                                 const struct sl_fading *fading, struct sl_error *error)
{
    struct sl_json json = {0};
    enum sl_status status = read_object(path, &json.object, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_json state = sl_json_object();
    sl_json_put(&state, "level", sl_json_text(sl_prompting_word(fading->level)));
    sl_json_put(&state, "clean_runs", json_integer((json_int_t)fading->clean_runs));
    sl_json_put(&state, "late_runs", json_integer((json_int_t)fading->late_runs));
    json_t *routines = json_object_get(json.object, "routines");
    json.failed = json_object_set_new(routines, routine, sl_json_take(&state)) != 0;
    char *line = NULL;
    status = sl_json_line(&json, &line, error);
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
