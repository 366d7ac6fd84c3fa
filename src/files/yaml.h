/*
 * YAML text as a tree of plain values with their positions. The only file that knows libfyaml is
 * yaml.c.
 *
 * What is taken is a small part of YAML: one document whose top is a mapping, with mappings, lists
 * and texts. Every scalar is a text ("yes" is not a truth value, 10 not a number); what it means is
 * the reader's business (reader.h). Refused, each with its place: anchors, aliases, tags, keys that
 * are not words, keys given twice, a second document, control characters, nesting deeper than
 * SL_YAML_DEPTH_MAX, text longer than SL_YAML_SIZE_MAX.
 */
#ifndef SL_FILES_YAML_H
#define SL_FILES_YAML_H

#include "core/status.h"

#include <stddef.h>

#define SL_YAML_DEPTH_MAX 16
#define SL_YAML_SIZE_MAX ((size_t)1 << 20) /* bytes */

enum sl_yaml_type { SL_YAML_TEXT, SL_YAML_LIST, SL_YAML_MAP };

struct sl_yaml_node {
    enum sl_yaml_type type;
    unsigned line, column;         /* of the value, from 1 */
    char *text;                    /* SL_YAML_TEXT only; "" for an empty value */
    char *key;                     /* NULL unless the parent is a mapping */
    unsigned key_line, key_column; /* of the key, from 1 */
    struct sl_yaml_node *first;    /* of the children; NULL: none */
    struct sl_yaml_node *last;
    struct sl_yaml_node *next; /* of the parent's children */
};

/* Initialise with {0}; release with sl_yaml_clear. */
struct sl_yaml {
    struct sl_yaml_node *root;   /* a mapping */
    struct sl_yaml_node **nodes; /* every node, for releasing */
    size_t n_nodes;
    size_t room;
};

/*
 * Parses `length` bytes of `text`. `origin` names the text in errors ("origin:line:column").
 * SL_FORMAT for what is not YAML or not text, SL_INVALID for what is refused, SL_TOO_LARGE,
 * SL_NO_MEMORY. Nothing is printed.
 */
enum sl_status sl_yaml_parse(const char *text, size_t length, const char *origin,
                             struct sl_yaml *yaml, struct sl_error *error);

/* The value of a key of a mapping, or NULL. */
const struct sl_yaml_node *sl_yaml_get(const struct sl_yaml_node *map, const char *key);

/* Number of children. */
size_t sl_yaml_count(const struct sl_yaml_node *node);

/* NULL is fine. */
void sl_yaml_clear(struct sl_yaml *yaml);

#endif
