#include "files/reader.h"

#include "core/str.h"
#include "files/near.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

struct place {
    unsigned line, column;
};

#if defined(__GNUC__)
__attribute__((format(printf, 4, 0)))
#endif
static void
refuse_at(struct sl_reader *reader, struct place place, const char *mend, const char *format,
          va_list args)
{
    struct sl_str what = {0};
    sl_str_vaddf(&what, format, args);
    char *where = sl_strf("%s:%u:%u", reader->origin, place.line, place.column);
    reader->status = sl_fail(reader->error, SL_INVALID, where, mend, "%s", sl_str_text(&what));
    free(where);
    sl_str_clear(&what);
}

void sl_refuse(struct sl_reader *reader, const struct sl_yaml_node *node, const char *mend,
               const char *format, ...)
{
    if (reader->status != SL_OK) {
        return;
    }
    va_list args;
    va_start(args, format);
    refuse_at(reader, (struct place){node->line, node->column}, mend, format, args);
    va_end(args);
}

void sl_refuse_key(struct sl_reader *reader, const struct sl_yaml_node *node, const char *mend,
                   const char *format, ...)
{
    if (reader->status != SL_OK) {
        return;
    }
    va_list args;
    va_start(args, format);
    refuse_at(reader, (struct place){node->key_line, node->key_column}, mend, format, args);
    va_end(args);
}

void sl_refuse_memory(struct sl_reader *reader)
{
    if (reader->status == SL_OK) {
        reader->status = sl_fail_memory(reader->error);
    }
}

/* "'a', 'b' or 'c'". */
static void add_words(struct sl_str *str, const char *const *words, size_t n_words)
{
    size_t last = n_words;
    while (last > 0 && words[last - 1] == NULL) {
        last--;
    }
    bool first = true;
    for (size_t i = 0; i < last; i++) {
        if (words[i] != NULL) {
            sl_str_addf(str, "%s'%s'", first ? "" : i + 1 == last ? " or " : ", ", words[i]);
            first = false;
        }
    }
}

void sl_only_keys(struct sl_reader *reader, const struct sl_yaml_node *map, const char *const *keys)
{
    size_t n_keys = 0;
    while (keys[n_keys] != NULL) {
        n_keys++;
    }
    for (const struct sl_yaml_node *child = map->first; child != NULL; child = child->next) {
        bool known = false;
        for (size_t i = 0; i < n_keys && !known; i++) {
            known = strcmp(child->key, keys[i]) == 0;
        }
        if (known) {
            continue;
        }
        struct sl_str mend = {0};
        const char *near = sl_nearest(child->key, keys, n_keys);
        if (near != NULL) {
            sl_str_addf(&mend, "did you mean '%s'?", near);
        } else {
            sl_str_add(&mend, "the keys here are ");
            add_words(&mend, keys, n_keys);
        }
        sl_refuse_key(reader, child, sl_str_text(&mend), "there is no key '%s' here", child->key);
        sl_str_clear(&mend);
        return;
    }
}

const struct sl_yaml_node *sl_need(struct sl_reader *reader, const struct sl_yaml_node *map,
                                   const char *key, const char *example)
{
    const struct sl_yaml_node *node = sl_yaml_get(map, key);
    if (node == NULL && reader->status == SL_OK) {
        char *mend = sl_strf("add a line '%s: %s'", key, example);
        sl_refuse(reader, map, mend, "the key '%s' is missing", key);
        free(mend);
    }
    return node;
}

/* What to call a value in an error. */
static const char *name_of(const struct sl_yaml_node *node)
{
    return node->key == NULL ? "this entry" : node->key;
}

static bool is_type(struct sl_reader *reader, const struct sl_yaml_node *node,
                    enum sl_yaml_type type, const char *example)
{
    static const char *const names[] = {
        [SL_YAML_TEXT] = "a text", [SL_YAML_LIST] = "a list", [SL_YAML_MAP] = "a mapping"};
    if (node == NULL || reader->status != SL_OK) {
        return false;
    }
    if (node->type == type) {
        return true;
    }
    bool empty = node->type == SL_YAML_TEXT && node->text[0] == '\0';
    char *mend = sl_strf("write %s", example);
    sl_refuse(reader, node, mend, "%s must be %s, not %s", name_of(node), names[type],
              empty ? "empty" : names[node->type]);
    free(mend);
    return false;
}

bool sl_is_map(struct sl_reader *reader, const struct sl_yaml_node *node, const char *example)
{
    return is_type(reader, node, SL_YAML_MAP, example);
}

bool sl_is_list(struct sl_reader *reader, const struct sl_yaml_node *node, const char *example)
{
    return is_type(reader, node, SL_YAML_LIST, example);
}

const char *sl_text_of(struct sl_reader *reader, const struct sl_yaml_node *node)
{
    if (!is_type(reader, node, SL_YAML_TEXT,
                 "one value after the colon; put a text that begins "
                 "with a bracket into quotes")) {
        return NULL;
    }
    if (node->text[0] == '\0') {
        sl_refuse(reader, node, "write the value after the colon or leave the line out",
                  "%s has no value", name_of(node));
        return NULL;
    }
    return node->text;
}

void sl_take_text(struct sl_reader *reader, const struct sl_yaml_node *node, char **out)
{
    const char *text = sl_text_of(reader, node);
    if (text == NULL) {
        return;
    }
    char *copy = sl_strdup(text);
    if (copy == NULL) {
        sl_refuse_memory(reader);
        return;
    }
    free(*out);
    *out = copy;
}

static bool in_range(struct sl_reader *reader, const struct sl_yaml_node *node,
                     const struct sl_limits *range, double value)
{
    if (value >= range->min && value <= range->max) {
        return true;
    }
    char *mend = sl_strf("write %s", range->words);
    sl_refuse(reader, node, mend, "%s cannot be %s", name_of(node), node->text);
    free(mend);
    return false;
}

void sl_take_quantity(struct sl_reader *reader, const struct sl_yaml_node *node,
                      enum sl_quantity quantity, const struct sl_limits *range, double *out)
{
    const char *text = sl_text_of(reader, node);
    double value = 0;
    if (text == NULL) {
        return;
    }
    if (sl_number_parse(text, &value)) {
        char *mend = sl_strf("write '%s %s'", text, sl_quantity_unit(quantity));
        sl_refuse(reader, node, mend, "%s has no unit: %s", name_of(node), text);
        free(mend);
        return;
    }
    if (!sl_quantity_parse(text, quantity, &value)) {
        char *mend = sl_strf("write %s", sl_quantity_example(quantity));
        sl_refuse(reader, node, mend, "%s cannot be '%s'", name_of(node), text);
        free(mend);
        return;
    }
    if (in_range(reader, node, range, value)) {
        *out = value;
    }
}

void sl_take_number(struct sl_reader *reader, const struct sl_yaml_node *node,
                    const struct sl_limits *range, double *out)
{
    const char *text = sl_text_of(reader, node);
    double value = 0;
    if (text == NULL) {
        return;
    }
    if (!sl_number_parse(text, &value)) {
        char *mend = sl_strf("write %s", range->words);
        sl_refuse(reader, node, mend, "%s must be a figure, not '%s'", name_of(node), text);
        free(mend);
        return;
    }
    if (in_range(reader, node, range, value)) {
        *out = value;
    }
}

void sl_take_whole(struct sl_reader *reader, const struct sl_yaml_node *node,
                   const struct sl_limits *range, int *out)
{
    double value = NAN;
    sl_take_number(reader, node, range, &value);
    if (isnan(value)) {
        return;
    }
    if (value != floor(value)) {
        char *mend = sl_strf("write %s", range->words);
        sl_refuse(reader, node, mend, "%s must be a whole figure, not %s", name_of(node),
                  node->text);
        free(mend);
        return;
    }
    *out = (int)value;
}

void sl_take_yes_no(struct sl_reader *reader, const struct sl_yaml_node *node, bool *out)
{
    static const char *const words[] = {"yes", "no", "true", "false"};
    size_t index = 0;
    if (sl_take_choice(reader, node, words, 4, &index)) {
        *out = index % 2 == 0;
    }
}

bool sl_take_choice(struct sl_reader *reader, const struct sl_yaml_node *node,
                    const char *const *words, size_t n_words, size_t *index)
{
    const char *text = sl_text_of(reader, node);
    if (text == NULL) {
        return false;
    }
    for (size_t i = 0; i < n_words; i++) {
        if (words[i] != NULL && strcmp(words[i], text) == 0) {
            *index = i;
            return true;
        }
    }
    struct sl_str mend = {0};
    const char *near = sl_nearest(text, words, n_words);
    if (near != NULL) {
        sl_str_addf(&mend, "did you mean '%s'?", near);
    } else {
        sl_str_add(&mend, "write ");
        add_words(&mend, words, n_words);
    }
    sl_refuse(reader, node, sl_str_text(&mend), "%s cannot be '%s'", name_of(node), text);
    sl_str_clear(&mend);
    return false;
}
