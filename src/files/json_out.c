#include "files/json_out.h"

#include "core/drive.h"
#include "core/str.h"
#include "core/units.h"
#include "files/utf8.h"

#include <math.h>
#include <stdlib.h>

/* Enough for three decimals of any figure of ours, too few for 0.1 to become 0.10000000000000001.
 */
#define DIGITS 15
#define WHOLE_MAX 1e15

struct sl_json sl_json_object(void)
{
    json_t *object = json_object();
    return (struct sl_json){.object = object, .failed = object == NULL};
}

void sl_json_put(struct sl_json *json, const char *key, json_t *value)
{
    /* json_object_set_new refuses NULL and releases the value when it fails. */
    if (json_object_set_new(json->object, key, value) != 0) {
        json->failed = true;
    }
}

bool sl_json_append(json_t *list, json_t *value)
{
    return json_array_append_new(list, value) == 0;
}

json_t *sl_json_take(struct sl_json *json)
{
    json_t *object = json->object;
    if (json->failed) {
        json_decref(object);
        object = NULL;
    }
    *json = (struct sl_json){.failed = true};
    return object;
}

json_t *sl_json_text(const char *text)
{
    if (text == NULL) {
        return json_null();
    }
    char *valid = sl_utf8_escaped(text);
    json_t *value = valid == NULL ? NULL : json_string(valid);
    free(valid);
    return value;
}

json_t *sl_json_number(double value)
{
    if (!isfinite(value)) {
        return json_null();
    }
    double rounded = fabs(value) < WHOLE_MAX / 1000 ? round(value * 1000) / 1000 : value;
    if (fabs(rounded) < WHOLE_MAX && rounded == floor(rounded)) {
        return json_integer((json_int_t)rounded); /* -0 becomes 0 */
    }
    return json_real(rounded);
}

json_t *sl_json_mph(double mps)
{
    return sl_json_number(sl_mph_from_mps(mps));
}

static json_t *mirror_list(const struct sl_settings *settings)
{
    json_t *list = json_array();
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        if (!sl_json_append(list, sl_json_text(sl_mirror_word(settings->mirrors[i])))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

json_t *sl_json_settings(const struct sl_settings *settings)
{
    static const enum sl_setting all[] = {SL_SET_MIRRORS, SL_SET_SIGNAL, SL_SET_SPEED,
                                          SL_SET_GEAR,    SL_SET_CLUTCH, SL_SET_DECISION,
                                          SL_SET_POSITION};
    struct sl_json json = sl_json_object();
    unsigned named = sl_settings_named(settings);
    for (size_t i = 0; i < sizeof(all) / sizeof(all[0]); i++) {
        json_t *value = NULL;
        if ((named & all[i]) == 0) {
            continue;
        }
        switch (all[i]) {
        case SL_SET_MIRRORS:
            value = mirror_list(settings);
            break;
        case SL_SET_SIGNAL:
            value = sl_json_text(sl_signal_word(settings->signal));
            break;
        case SL_SET_SPEED:
            value = sl_json_mph(settings->speed_mps);
            break;
        case SL_SET_GEAR:
            value = json_integer(settings->gear);
            break;
        case SL_SET_CLUTCH:
            value = sl_json_text(sl_clutch_word(settings->clutch));
            break;
        case SL_SET_DECISION:
            value = sl_json_text(sl_decision_word(settings->decision));
            break;
        case SL_SET_POSITION:
            value = sl_json_text(sl_position_word(settings->position));
            break;
        case SL_SET_ALL:
            break;
        }
        sl_json_put(&json, sl_setting_key(all[i]), value);
    }
    return sl_json_take(&json);
}

json_t *sl_json_came_of(uint64_t came_of)
{
    json_t *list = json_array();
    for (size_t kind = 0; kind < SL_CONSEQUENCE_COUNT; kind++) {
        if ((came_of & SL_CAME_OF(kind)) != 0 &&
            !sl_json_append(list,
                            json_string(sl_consequence_word((enum sl_consequence_kind)kind)))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

enum sl_status sl_json_line(struct sl_json *json, char **line, struct sl_error *error)
{
    json_t *object = sl_json_take(json);
    char *dumped =
        object == NULL ? NULL : json_dumps(object, JSON_COMPACT | JSON_REAL_PRECISION(DIGITS));
    json_decref(object);
    if (dumped == NULL) {
        return sl_fail_memory(error);
    }
    *line = dumped;
    return SL_OK;
}
