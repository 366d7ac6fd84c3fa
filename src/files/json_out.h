/*
 * Building JSON values; shared by result_json.c and plan_json.c only. The one header that includes
 * jansson.
 *
 * Every function takes what a failed allocation left (NULL) and passes it on; sl_json_line says so
 * at the end.
 */
#ifndef SL_FILES_JSON_OUT_H
#define SL_FILES_JSON_OUT_H

#include "core/settings.h"
#include "core/status.h"

#include <jansson.h>
#include <stdbool.h>
#include <stdint.h>

/* An object under way; `failed` once memory ran out. Initialise with sl_json_object. */
struct sl_json {
    json_t *object;
    bool failed;
};

struct sl_json sl_json_object(void);

/* Adds a value and takes it over; NULL marks the object as failed. */
void sl_json_put(struct sl_json *json, const char *key, json_t *value);

/* Adds a value to a list and takes it over; NULL or a NULL list makes it false. */
bool sl_json_append(json_t *list, json_t *value);

/* The finished object, which the caller owns; NULL when it failed. */
json_t *sl_json_take(struct sl_json *json);

/* A text; bytes that are no UTF-8 are shown as \xHH; null for NULL. */
json_t *sl_json_text(const char *text);

/* A figure rounded to 3 decimals, whole ones without decimals; null for what is no finite figure.
 */
json_t *sl_json_number(double value);

/* The same from m/s to miles an hour. */
json_t *sl_json_mph(double mps);

/* Settings: only the keys that are named. */
json_t *sl_json_settings(const struct sl_settings *settings);

/* What came of a drive (sl_drive_came_of): a list of the names. */
json_t *sl_json_came_of(uint64_t came_of);

/* The object as one line, which the caller frees; the object is released. */
enum sl_status sl_json_line(struct sl_json *json, char **line, struct sl_error *error);

#endif
