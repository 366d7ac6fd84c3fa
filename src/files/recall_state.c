#include "files/recall_state.h"

#include "core/str.h"
#include "files/atomic.h"
#include "files/json_out.h"
#include "files/learner.h"
#include "files/path.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define STATE_SIZE_MAX ((size_t)4 << 20)
#define TIME_MAX_S 1e12 /* beyond any clock of ours, and exact as a double */

void sl_recall_state_clear(struct sl_recall_state *state)
{
    if (state == NULL) {
        return;
    }
    for (size_t i = 0; i < state->count; i++) {
        free(state->entries[i].id);
    }
    free(state->entries);
    *state = (struct sl_recall_state){0};
}

enum sl_status sl_recall_state_path(const char *learner, char **path, struct sl_error *error)
{
    return sl_learner_file(learner, "recall.json", path, error);
}

static struct sl_recall_entry *find(const struct sl_recall_state *state, const char *id)
{
    for (size_t i = 0; i < state->count; i++) {
        if (strcmp(state->entries[i].id, id) == 0) {
            return &state->entries[i];
        }
    }
    return NULL;
}

static enum sl_status set(struct sl_recall_state *state, const char *id,
                          const struct sl_memory *memory, struct sl_error *error)
{
    struct sl_recall_entry *entry = find(state, id);
    if (entry != NULL) {
        entry->memory = *memory;
        return SL_OK;
    }
    void *grown = sl_grow(state->entries, state->count, &state->room, sizeof *state->entries);
    char *copy = sl_strdup(id);
    if (grown != NULL) {
        state->entries = grown;
    }
    if (grown == NULL || copy == NULL) {
        free(copy);
        return sl_fail_memory(error);
    }
    state->entries[state->count++] = (struct sl_recall_entry){.id = copy, .memory = *memory};
    return SL_OK;
}

struct sl_memory sl_recall_state_get(const struct sl_recall_state *state, const char *id)
{
    const struct sl_recall_entry *entry = find(state, id);
    const struct sl_memory never = {0};
    return entry == NULL ? never : entry->memory;
}

/* A figure within 0 and `most`; false when there is none. */
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

static bool read_entry(const json_t *item, struct sl_memory *memory)
{
    double asked = 0.0;
    double right = 0.0;
    bool fine = json_is_string(json_object_get(item, "id")) &&
                read_figure(item, "half_life_s", SL_HALF_LIFE_MAX_S, &memory->half_life_s) &&
                read_figure(item, "last_s", TIME_MAX_S, &memory->last_s) &&
                read_figure(item, "asked", 1e9, &asked) && read_figure(item, "right", 1e9, &right);
    memory->asked = (unsigned)asked;
    memory->right = (unsigned)right;
    return fine && memory->half_life_s >= SL_HALF_LIFE_MIN_S && right <= asked;
}

static enum sl_status fail_format(const char *path, const char *what, struct sl_error *error)
{
    return sl_fail(error, SL_FORMAT, path,
                   "mend the file, or move it away to begin anew; it was not changed", "%s", what);
}

static enum sl_status read_items(const json_t *items, const char *path,
                                 struct sl_recall_state *state, struct sl_error *error)
{
    for (size_t i = 0; i < json_array_size(items); i++) {
        const json_t *item = json_array_get(items, i);
        struct sl_memory memory = {0};
        if (!read_entry(item, &memory)) {
            char *what =
                sl_strf("item %zu lacks its id or a figure, or a figure is out of range", i + 1);
            enum sl_status status =
                fail_format(path, what == NULL ? "an item is wrong" : what, error);
            free(what);
            return status;
        }
        const char *id = json_string_value(json_object_get(item, "id"));
        if (find(state, id) != NULL) {
            return fail_format(path, "two items have the same id", error);
        }
        enum sl_status status = set(state, id, &memory, error);
        if (status != SL_OK) {
            return status;
        }
    }
    return SL_OK;
}

static enum sl_status read_root(const json_t *root, const char *path, struct sl_recall_state *state,
                                struct sl_error *error)
{
    double version = 0.0;
    if (!read_figure(root, "sayline_recall", 1e9, &version) || version != floor(version) ||
        version < 1.0) {
        return fail_format(path, "this is not the state of a recall drill", error);
    }
    if (version > SL_RECALL_STATE_VERSION) {
        return sl_fail(error, SL_UNSUPPORTED, path, "use the later program",
                       "the file was written by a later version of sayline");
    }
    const json_t *items = json_object_get(root, "items");
    if (!json_is_array(items)) {
        return fail_format(path, "the list of items is missing", error);
    }
    return read_items(items, path, state, error);
}

static enum sl_status parse(const struct sl_str *text, const char *path,
                            struct sl_recall_state *state, struct sl_error *error)
{
    json_error_t found;
    json_t *root = json_loadb(sl_str_text(text), text->length, JSON_REJECT_DUPLICATES, &found);
    if (root == NULL) {
        char *where = sl_strf("%s:%d:%d", path, found.line, found.column);
        enum sl_status status =
            fail_format(where == NULL ? path : where, "this is not JSON, or not all of it", error);
        free(where);
        return status;
    }
    enum sl_status status = read_root(root, path, state, error);
    json_decref(root);
    return status;
}

enum sl_status sl_recall_state_load(const char *path, struct sl_recall_state *state,
                                    struct sl_error *error)
{
    struct sl_str text = {0};
    struct sl_recall_state made = {0};
    struct sl_error found = {0};
    enum sl_status status = sl_read_text_file(path, STATE_SIZE_MAX, &text, &found);
    if (status == SL_NOT_FOUND) {
        status = SL_OK;
    } else if (status != SL_OK) {
        sl_fail(error, status, found.where, found.mend, "%s",
                found.what == NULL ? sl_status_name(status) : found.what);
    } else {
        status = parse(&text, path, &made, error);
    }
    sl_error_clear(&found);
    sl_str_clear(&text);
    if (status != SL_OK) {
        sl_recall_state_clear(&made);
        return status;
    }
    sl_recall_state_clear(state);
    *state = made;
    return SL_OK;
}

static json_t *entry_json(const struct sl_recall_entry *entry)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "id", sl_json_text(entry->id));
    sl_json_put(&json, "half_life_s", sl_json_number(entry->memory.half_life_s));
    sl_json_put(&json, "last_s", sl_json_number(entry->memory.last_s));
    sl_json_put(&json, "asked", json_integer(entry->memory.asked));
    sl_json_put(&json, "right", json_integer(entry->memory.right));
    return sl_json_take(&json);
}

/* An item a line, so that two states can be compared. */
static char *state_text(const struct sl_recall_state *state)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "{\"sayline_recall\": %d, \"items\": [", SL_RECALL_STATE_VERSION);
    for (size_t i = 0; i < state->count && !text.failed; i++) {
        json_t *entry = entry_json(&state->entries[i]);
        char *line = entry == NULL ? NULL : json_dumps(entry, 0);
        json_decref(entry);
        sl_str_addf(&text, "%s\n%s", i > 0 ? "," : "", line == NULL ? "" : line);
        text.failed = text.failed || line == NULL;
        free(line);
    }
    sl_str_add(&text, "\n]}\n");
    return sl_str_take(&text);
}

enum sl_status sl_recall_state_put(const char *path, const char *id, const struct sl_memory *memory,
                                   struct sl_error *error)
{
    struct sl_recall_state state = {0};
    enum sl_status status = sl_recall_state_load(path, &state, error);
    if (status == SL_OK) {
        status = set(&state, id, memory, error);
    }
    if (status == SL_OK) {
        char *text = state_text(&state);
        status = text == NULL ? sl_fail_memory(error)
                              : sl_write_text_file(path, text, strlen(text), error);
        free(text);
    }
    sl_recall_state_clear(&state);
    return status;
}
