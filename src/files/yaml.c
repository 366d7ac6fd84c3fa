#include "files/yaml.h"

#include "core/str.h"
#include "files/utf8.h"

#include <libfyaml.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* While the tree grows: the open mappings and lists, and the key that waits for its value. */
struct builder {
    struct sl_yaml *yaml;
    const char *origin;
    struct sl_error *error;
    struct sl_yaml_node *open[SL_YAML_DEPTH_MAX];
    size_t depth;
    char *key;
    unsigned key_line, key_column;
    size_t documents;
};

struct place {
    unsigned line, column;
};

static struct place place_of(struct fy_token *token)
{
    const struct fy_mark *mark = token == NULL ? NULL : fy_token_start_mark(token);
    if (mark == NULL || mark->line < 0 || mark->column < 0) {
        return (struct place){1, 1};
    }
    return (struct place){(unsigned)mark->line + 1, (unsigned)mark->column + 1};
}

static enum sl_status refuse(const struct builder *builder, struct place place, const char *mend,
                             const char *what)
{
    char *where = sl_strf("%s:%u:%u", builder->origin, place.line, place.column);
    enum sl_status status = sl_fail(builder->error, SL_INVALID, where, mend, "%s", what);
    free(where);
    return status;
}

/* True when a text holds what has no place in a word or a sentence: control characters, and with
 * them the escape codes that could play with a terminal. */
static bool has_control(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        unsigned char byte = (unsigned char)text[i];
        bool c1 = byte == 0xC2 && i + 1 < length && (unsigned char)text[i + 1] < 0xA0;
        if ((byte < 0x20 && byte != '\n' && byte != '\t') || byte == 0x7F || c1) {
            return true;
        }
    }
    return false;
}

static enum sl_status copy_text(const struct builder *builder, struct fy_token *token, char **copy)
{
    size_t length = 0;
    const char *text = token == NULL ? "" : fy_token_get_text(token, &length);
    if (text == NULL) {
        return sl_fail_memory(builder->error);
    }
    if (has_control(text, length)) {
        return refuse(builder, place_of(token), "leave the control characters out",
                      "there is a control character in this text");
    }
    struct sl_str str = {0};
    sl_str_add_bytes(&str, text, length);
    char *taken = sl_str_take(&str);
    if (taken == NULL) {
        return sl_fail_memory(builder->error);
    }
    *copy = taken;
    return SL_OK;
}

/* Makes a node, hangs it under the open one and gives it the waiting key. */
static enum sl_status add_node(struct builder *builder, enum sl_yaml_type type, struct place place,
                               struct sl_yaml_node **made)
{
    struct sl_yaml *yaml = builder->yaml;
    void *grown = sl_grow(yaml->nodes, yaml->n_nodes, &yaml->room, sizeof(struct sl_yaml_node *));
    if (grown == NULL) {
        return sl_fail_memory(builder->error);
    }
    yaml->nodes = grown;
    struct sl_yaml_node *node = calloc(1, sizeof(*node));
    if (node == NULL) {
        return sl_fail_memory(builder->error);
    }
    yaml->nodes[yaml->n_nodes++] = node;
    node->type = type;
    node->line = place.line;
    node->column = place.column;
    node->key = builder->key;
    node->key_line = builder->key_line;
    node->key_column = builder->key_column;
    builder->key = NULL;
    if (builder->depth == 0) {
        yaml->root = node;
    } else {
        struct sl_yaml_node *parent = builder->open[builder->depth - 1];
        if (parent->last == NULL) {
            parent->first = node;
        } else {
            parent->last->next = node;
        }
        parent->last = node;
    }
    *made = node;
    return SL_OK;
}

/* True when the next event is a key and not a value. */
static bool wants_key(const struct builder *builder)
{
    return builder->depth > 0 && builder->open[builder->depth - 1]->type == SL_YAML_MAP &&
           builder->key == NULL;
}

static enum sl_status take_key(struct builder *builder, struct fy_token *token)
{
    char *key = NULL;
    enum sl_status status = copy_text(builder, token, &key);
    if (status != SL_OK || key == NULL) {
        return status;
    }
    struct place place = place_of(token);
    const struct sl_yaml_node *before = sl_yaml_get(builder->open[builder->depth - 1], key);
    if (before != NULL) {
        char *what = sl_strf("'%s' is given twice, first in line %u", key, before->key_line);
        status = refuse(builder, place, "keep one of the two lines",
                        what == NULL ? "a key is given twice" : what);
        free(what);
        free(key);
        return status;
    }
    builder->key = key;
    builder->key_line = place.line;
    builder->key_column = place.column;
    return SL_OK;
}

static enum sl_status take_scalar(struct builder *builder, struct fy_token *token)
{
    if (wants_key(builder)) {
        return take_key(builder, token);
    }
    char *text = NULL;
    enum sl_status status = copy_text(builder, token, &text);
    if (status != SL_OK) {
        return status;
    }
    struct place place = place_of(token);
    if (token == NULL && builder->key != NULL) {
        place = (struct place){builder->key_line, builder->key_column};
    }
    struct sl_yaml_node *node = NULL;
    status = add_node(builder, SL_YAML_TEXT, place, &node);
    if (status != SL_OK) {
        free(text);
        return status;
    }
    node->text = text;
    return SL_OK;
}

static enum sl_status open_node(struct builder *builder, enum sl_yaml_type type,
                                struct fy_token *token)
{
    struct place place = place_of(token);
    if (wants_key(builder)) {
        return refuse(builder, place, "write a word before the colon",
                      "a key must be a word, not a list or a mapping");
    }
    if (builder->depth == SL_YAML_DEPTH_MAX) {
        return refuse(builder, place, "no file of this program needs that much nesting",
                      "lists and mappings are nested too deep");
    }
    struct sl_yaml_node *node = NULL;
    enum sl_status status = add_node(builder, type, place, &node);
    if (status == SL_OK) {
        builder->open[builder->depth++] = node;
    }
    return status;
}

static enum sl_status refuse_decoration(const struct builder *builder, struct fy_token *anchor,
                                        struct fy_token *tag)
{
    if (anchor != NULL) {
        return refuse(builder, place_of(anchor), "write the value out where it is needed",
                      "anchors and aliases (& and *) are not taken");
    }
    if (tag != NULL) {
        return refuse(builder, place_of(tag), "leave the tag out", "tags (!) are not taken");
    }
    return SL_OK;
}

static enum sl_status take_document(struct builder *builder, struct fy_token *start)
{
    if (builder->documents++ > 0) {
        return refuse(builder, place_of(start), "put the second document into a file of its own",
                      "there is more than one document in this file");
    }
    return SL_OK;
}

static enum sl_status take_event(struct builder *builder, const struct fy_event *event)
{
    enum sl_status status = SL_OK;
    switch (event->type) {
    case FYET_DOCUMENT_START:
        return take_document(builder, event->document_start.document_start);
    case FYET_ALIAS:
        return refuse_decoration(builder, event->alias.anchor, NULL);
    case FYET_SCALAR:
        status = refuse_decoration(builder, event->scalar.anchor, event->scalar.tag);
        return status != SL_OK ? status : take_scalar(builder, event->scalar.value);
    case FYET_SEQUENCE_START:
        status =
            refuse_decoration(builder, event->sequence_start.anchor, event->sequence_start.tag);
        return status != SL_OK
                   ? status
                   : open_node(builder, SL_YAML_LIST, event->sequence_start.sequence_start);
    case FYET_MAPPING_START:
        status = refuse_decoration(builder, event->mapping_start.anchor, event->mapping_start.tag);
        return status != SL_OK
                   ? status
                   : open_node(builder, SL_YAML_MAP, event->mapping_start.mapping_start);
    case FYET_SEQUENCE_END:
    case FYET_MAPPING_END:
        builder->depth--;
        return SL_OK;
    default:
        return SL_OK;
    }
}

/* What the library complained about, as our error. Its collected errors count from 1, its marks
 * from 0. */
static enum sl_status fail_from_diag(struct fy_diag *diag, const char *origin,
                                     struct sl_error *error)
{
    void *iterator = NULL;
    const struct fy_diag_error *first = fy_diag_errors_iterate(diag, &iterator);
    const char *mend = "check the indentation, the colons and the quotes in and above this line";
    if (first == NULL) {
        return sl_fail(error, SL_FORMAT, origin, mend, "this is not YAML");
    }
    char *where = sl_strf("%s:%d:%d", origin, first->line, first->column);
    enum sl_status status = sl_fail(error, SL_FORMAT, where, mend, "this is not YAML: %s",
                                    first->msg == NULL ? "unreadable" : first->msg);
    free(where);
    return status;
}

static enum sl_status run_parser(struct fy_parser *parser, struct fy_diag *diag,
                                 struct builder *builder)
{
    enum sl_status status = SL_OK;
    struct fy_event *event = NULL;
    while (status == SL_OK && (event = fy_parser_parse(parser)) != NULL) {
        status = take_event(builder, event);
        fy_parser_event_free(parser, event);
    }
    if (status == SL_OK && (fy_parser_get_stream_error(parser) || fy_diag_got_error(diag))) {
        status = fail_from_diag(diag, builder->origin, builder->error);
    }
    return status;
}

/* The diagnostics of the library are collected, not printed. */
static struct fy_diag *quiet_diag(void)
{
    struct fy_diag_cfg cfg;
    fy_diag_cfg_default(&cfg);
    cfg.fp = NULL;
    struct fy_diag *diag = fy_diag_create(&cfg);
    if (diag != NULL) {
        fy_diag_set_collect_errors(diag, true);
    }
    return diag;
}

static enum sl_status build_tree(const char *text, size_t length, struct builder *builder)
{
    enum sl_status status = SL_OK;
    struct fy_parser *parser = NULL;
    struct fy_diag *diag = quiet_diag();
    if (diag == NULL) {
        return sl_fail_memory(builder->error);
    }
    const struct fy_parse_cfg cfg = {.flags = FYPCF_QUIET | FYPCF_COLLECT_DIAG, .diag = diag};
    parser = fy_parser_create(&cfg);
    if (parser == NULL || fy_parser_set_string(parser, text, length) != 0) {
        status = sl_fail_memory(builder->error);
        goto out;
    }
    status = run_parser(parser, diag, builder);
out:
    fy_parser_destroy(parser);
    fy_diag_destroy(diag);
    free(builder->key);
    builder->key = NULL;
    return status;
}

/* libfyaml cuts a text at such a byte without a word, so it never sees one. */
static enum sl_status fail_not_utf8(const char *text, size_t valid, const char *origin,
                                    struct sl_error *error)
{
    unsigned line = 1;
    unsigned column = 1;
    for (size_t i = 0; i < valid; i++) {
        bool line_end = text[i] == '\n';
        line += line_end ? 1 : 0;
        column = line_end ? 1 : column + (((unsigned char)text[i] & 0xC0) == 0x80 ? 0 : 1);
    }
    char *where = sl_strf("%s:%u:%u", origin, line, column);
    enum sl_status status =
        sl_fail(error, SL_FORMAT, where, "save the file as UTF-8 text", "this is not UTF-8 text");
    free(where);
    return status;
}

static enum sl_status check_root(const struct builder *builder)
{
    const struct sl_yaml_node *root = builder->yaml->root;
    if (root == NULL || (root->type == SL_YAML_TEXT && root->text[0] == '\0')) {
        return sl_fail(builder->error, SL_FORMAT, builder->origin,
                       "write 'key: value' lines into it", "the file is empty");
    }
    if (root->type != SL_YAML_MAP) {
        struct place place = {root->line, root->column};
        return refuse(builder, place, "write 'key: value' lines", "the file is not a mapping");
    }
    return SL_OK;
}

enum sl_status sl_yaml_parse(const char *text, size_t length, const char *origin,
                             struct sl_yaml *yaml, struct sl_error *error)
{
    if (length > SL_YAML_SIZE_MAX) {
        return sl_fail(error, SL_TOO_LARGE, origin, "such a file has a few hundred lines at most",
                       "the file is longer than 1 MiB");
    }
    if (memchr(text, '\0', length) != NULL) {
        return sl_fail(error, SL_FORMAT, origin, "name a text file with YAML in it",
                       "this is not a text file");
    }
    size_t valid = sl_utf8_valid_length(text, length);
    if (valid < length) {
        return fail_not_utf8(text, valid, origin, error);
    }
    struct sl_yaml built = {0};
    struct builder builder = {.yaml = &built, .origin = origin, .error = error};
    enum sl_status status = build_tree(text, length, &builder);
    if (status == SL_OK) {
        status = check_root(&builder);
    }
    if (status != SL_OK) {
        sl_yaml_clear(&built);
        return status;
    }
    *yaml = built;
    return SL_OK;
}

const struct sl_yaml_node *sl_yaml_get(const struct sl_yaml_node *map, const char *key)
{
    for (const struct sl_yaml_node *child = map->first; child != NULL; child = child->next) {
        if (child->key != NULL && strcmp(child->key, key) == 0) {
            return child;
        }
    }
    return NULL;
}

size_t sl_yaml_count(const struct sl_yaml_node *node)
{
    size_t count = 0;
    for (const struct sl_yaml_node *child = node->first; child != NULL; child = child->next) {
        count++;
    }
    return count;
}

void sl_yaml_clear(struct sl_yaml *yaml)
{
    if (yaml == NULL) {
        return;
    }
    for (size_t i = 0; i < yaml->n_nodes; i++) {
        free(yaml->nodes[i]->text);
        free(yaml->nodes[i]->key);
        free(yaml->nodes[i]);
    }
    free(yaml->nodes);
    *yaml = (struct sl_yaml){0};
}
