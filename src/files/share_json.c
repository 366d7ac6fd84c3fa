#include "files/share_json.h"

#include "files/json_out.h"
#include "files/path.h"

#include <stdlib.h>
#include <string.h>

#define MOST_BYTES ((size_t)16 << 20)

/* What is left of a value: NULL when memory runs out. */
static char *name_of(const char *key, const char *value)
{
    if (strcmp(key, "file") == 0) {
        return sl_strdup(sl_base_name(value));
    }
    return sl_is_path(value) ? sl_path_name(value) : sl_strdup(value);
}

/* False when memory runs out. */
static bool strip(json_t *object)
{
    static const char *const keys[] = {"file", "junction", "routine", "car"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        const char *value = json_string_value(json_object_get(object, keys[i]));
        char *name = value == NULL ? NULL : name_of(keys[i], value);
        json_t *text = name == NULL ? NULL : json_string(name);
        free(name);
        if (value != NULL && (text == NULL || json_object_set_new(object, keys[i], text) != 0)) {
            return false;
        }
    }
    return true;
}

enum sl_status sl_json_without_paths(const char *path, struct sl_str *text, struct sl_error *error)
{
    struct sl_str found = {0};
    struct sl_json json = {0};
    char *line = NULL;
    enum sl_status status = sl_read_text_file(path, MOST_BYTES, &found, error);
    if (status == SL_OK) {
        json_error_t at;
        json.object = json_loadb(sl_str_text(&found), found.length, JSON_REJECT_DUPLICATES, &at);
        if (!json_is_object(json.object)) {
            status = sl_fail(error, SL_FORMAT, path, "do the run again", "this is no JSON object");
            json_decref(json.object);
        } else {
            json.failed = !strip(json.object) || !strip(json_object_get(json.object, "run"));
            status = sl_json_line(&json, &line, error);
        }
    }
    if (status == SL_OK) {
        sl_str_addf(text, "%s\n", line);
        status = text->failed ? sl_fail_memory(error) : SL_OK;
    }
    free(line);
    sl_str_clear(&found);
    return status;
}
