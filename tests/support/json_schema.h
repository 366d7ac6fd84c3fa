/*
 * JSON against the tables of docs/formats.md: each row names a key, its type and what it is.
 * Include after cmocka.h.
 */
#ifndef SL_TESTS_JSON_SCHEMA_H
#define SL_TESTS_JSON_SCHEMA_H

#include "core/str.h"
#include "files/path.h"

#include <jansson.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define KEYS_MAX 128

/* A row of a table in the documentation. */
struct key {
    char *path;  /* "heard[].text" */
    char *type;  /* "number or null" */
    size_t seen; /* outputs in which it is there and not null */
};

struct schema {
    struct key keys[KEYS_MAX];
    size_t n_keys;
};

/* What stands between the backquotes or blanks of a table's cell; the caller frees. */
static char *cell(const char **at)
{
    struct sl_str text = {0};
    const char *from = *at + strspn(*at, "| `");
    size_t length = strcspn(from, "`|\n");
    while (length > 0 && from[length - 1] == ' ') {
        length--;
    }
    sl_str_add_bytes(&text, from, length);
    *at = from + strcspn(from, "|\n");
    return sl_str_take(&text);
}

/* Reads the rows between a line that begins with `heading` and the next heading or, for the
 * settings' table, the next such line. */
static inline struct schema read_schema(const char *heading)
{
    struct sl_str text = {0};
    struct schema schema = {0};
    assert_int_equal(sl_read_text_file(SL_SOURCE_DIR "/docs/formats.md", SIZE_MAX / 2, &text, NULL),
                     SL_OK);
    const char *at = strstr(sl_str_text(&text), heading);
    assert_non_null(at);
    for (at = strchr(at, '\n') + 1;
         *at != '\0' && strncmp(at, "## ", 3) != 0 && strncmp(at, "A settings object", 17) != 0;
         at = strchr(at, '\n') + 1) {
        if (strncmp(at, "| `", 3) == 0) {
            const char *in = at;
            assert_true(schema.n_keys < KEYS_MAX);
            struct key *key = &schema.keys[schema.n_keys++];
            key->path = cell(&in);
            key->type = cell(&in);
        }
    }
    sl_str_clear(&text);
    assert_true(schema.n_keys > 3);
    return schema;
}

static inline void clear_schema(struct schema *schema)
{
    for (size_t i = 0; i < schema->n_keys; i++) {
        free(schema->keys[i].path);
        free(schema->keys[i].type);
    }
}

static struct key *find_key(struct schema *schema, const char *path)
{
    for (size_t i = 0; i < schema->n_keys; i++) {
        if (strcmp(schema->keys[i].path, path) == 0) {
            return &schema->keys[i];
        }
    }
    fail_msg("the key '%s' is not documented", path);
    return NULL;
}

static void check_type(struct key *key, const json_t *value)
{
    bool null = strstr(key->type, " or null") != NULL;
    bool fine = (null && json_is_null(value)) ||
                (strncmp(key->type, "text", 4) == 0 && json_is_string(value)) ||
                (strncmp(key->type, "number", 6) == 0 && json_is_number(value)) ||
                (strncmp(key->type, "boolean", 7) == 0 && json_is_boolean(value)) ||
                (strncmp(key->type, "list", 4) == 0 && json_is_array(value)) ||
                (strncmp(key->type, "object", 6) == 0 && json_is_object(value)) ||
                (strncmp(key->type, "settings", 8) == 0 && json_is_object(value));
    if (!fine) {
        fail_msg("'%s' is not of the documented type %s", key->path, key->type);
    }
    key->seen += json_is_null(value) ? 0 : 1;
}

/* Walks the output; a stack instead of recursion, so each visit has its own path. */
struct visit {
    const json_t *value;
    char *path;
};

struct visits {
    struct visit items[4096];
    size_t count;
};

static void push(struct visits *visits, const json_t *value, char *path)
{
    assert_true(visits->count < 4096);
    visits->items[visits->count++] = (struct visit){value, path};
}

static void push_children(struct visits *visits, const struct visit *visit)
{
    const char *name = NULL;
    json_t *child = NULL;
    size_t index = 0;
    json_object_foreach((json_t *)(uintptr_t)visit->value, name, child)
    {
        push(visits, child,
             visit->path[0] == '\0' ? sl_strdup(name) : sl_strf("%s.%s", visit->path, name));
    }
    json_array_foreach(visit->value, index, child)
    {
        push(visits, child, sl_strf("%s[]", visit->path));
    }
}

static void check_settings(struct schema *settings, const json_t *value)
{
    const char *name = NULL;
    json_t *child = NULL;
    json_object_foreach((json_t *)(uintptr_t)value, name, child)
    {
        check_type(find_key(settings, name), child);
    }
}

static inline void check_output(const char *json, struct schema *schema, struct schema *settings)
{
    json_error_t failure;
    json_t *root = json_loads(json, JSON_REJECT_DUPLICATES, &failure);
    struct visits *visits = calloc(1, sizeof(*visits));
    assert_non_null(root);
    assert_non_null(visits);
    assert_null(strchr(json, '\n'));
    push(visits, root, sl_strdup(""));
    while (visits->count > 0) {
        struct visit visit = visits->items[--visits->count];
        /* The whole and the objects of a list have no row of their own, their keys have. */
        size_t length = strlen(visit.path);
        bool in_list = length > 0 && visit.path[length - 1] == ']' && json_is_object(visit.value);
        struct key *key = length == 0 || in_list ? NULL : find_key(schema, visit.path);
        if (key != NULL) {
            check_type(key, visit.value);
        }
        if (key != NULL && strncmp(key->type, "settings", 8) == 0) {
            check_settings(settings, visit.value);
        } else {
            push_children(visits, &visit);
        }
        free(visit.path);
    }
    free(visits);
    json_decref(root);
}

static inline void every_key_was_seen(const struct schema *schema)
{
    for (size_t i = 0; i < schema->n_keys; i++) {
        if (schema->keys[i].seen == 0) {
            fail_msg("the documented key '%s' is in no output", schema->keys[i].path);
        }
    }
}

#endif
