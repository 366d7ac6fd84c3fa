/*
 * Taking typed values out of a YAML tree, so that a loader reads like the file it loads.
 *
 * The first refusal sticks: from then on every function does nothing, and the loader asks for
 * reader.status once at its end. Every sl_take_* leaves *out alone when the node is NULL (an
 * optional key that is not there) or refused.
 */
#ifndef SL_FILES_READER_H
#define SL_FILES_READER_H

#include "core/settings.h"
#include "core/status.h"
#include "files/quantity.h"
#include "files/yaml.h"

#include <stdbool.h>
#include <stddef.h>

struct sl_reader {
    const char *origin; /* named in errors */
    struct sl_error *error;
    enum sl_status status; /* SL_OK so far, or the first refusal's */
};

/* Where a value must lie, ends included. `words` finishes the mend: "more than 0 and at most
 * 70 mph". */
struct sl_limits {
    double min, max;
    const char *words;
};

/* Refuses with the value's position (or the key's). `mend` is copied. */
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
void sl_refuse(struct sl_reader *reader, const struct sl_yaml_node *node, const char *mend,
               const char *format, ...);
#if defined(__GNUC__)
__attribute__((format(printf, 4, 5)))
#endif
void sl_refuse_key(struct sl_reader *reader, const struct sl_yaml_node *node, const char *mend,
                   const char *format, ...);

/* Memory ran out. */
void sl_refuse_memory(struct sl_reader *reader);

/* Refuses every key of the mapping that is not among `keys` (ended by NULL), naming the nearest. */
void sl_only_keys(struct sl_reader *reader, const struct sl_yaml_node *map,
                  const char *const *keys);

/* The value of a key that must be there; NULL after refusing. The mend offers "KEY: EXAMPLE". */
const struct sl_yaml_node *sl_need(struct sl_reader *reader, const struct sl_yaml_node *map,
                                   const char *key, const char *example);

/* True when the node is there and of the type; refuses another type, with `example` in the mend. */
bool sl_is_map(struct sl_reader *reader, const struct sl_yaml_node *node, const char *example);
bool sl_is_list(struct sl_reader *reader, const struct sl_yaml_node *node, const char *example);

/* The text of the node, not empty, or NULL after refusing or for NULL. Belongs to the node. */
const char *sl_text_of(struct sl_reader *reader, const struct sl_yaml_node *node);

/* A copy of the text; what *out held is released. */
void sl_take_text(struct sl_reader *reader, const struct sl_yaml_node *node, char **out);

/* A figure with a unit of the quantity, in the range. */
void sl_take_quantity(struct sl_reader *reader, const struct sl_yaml_node *node,
                      enum sl_quantity quantity, const struct sl_limits *range, double *out);

/* A plain figure in the range. */
void sl_take_number(struct sl_reader *reader, const struct sl_yaml_node *node,
                    const struct sl_limits *range, double *out);

/* A plain whole figure in the range. */
void sl_take_whole(struct sl_reader *reader, const struct sl_yaml_node *node,
                   const struct sl_limits *range, int *out);

/* yes, true, no or false. */
void sl_take_yes_no(struct sl_reader *reader, const struct sl_yaml_node *node, bool *out);

/* One of the words (NULL entries are passed over): its index. False after refusing or for NULL. */
bool sl_take_choice(struct sl_reader *reader, const struct sl_yaml_node *node,
                    const char *const *words, size_t n_words, size_t *index);

#endif
