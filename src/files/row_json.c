#include "files/row_json.h"

#include "files/json_out.h"

static json_t *value_json(const struct sl_value *value)
{
    switch (value->kind) {
    case SL_VALUE_WHOLE:
        return json_integer((json_int_t)value->whole);
    case SL_VALUE_REAL:
        return sl_json_number(value->real);
    case SL_VALUE_TEXT:
        return sl_json_text(value->text);
    case SL_VALUE_NONE:
        break;
    }
    return json_null();
}

enum sl_status sl_row_to_json(const struct sl_row *row, char **json, struct sl_error *error)
{
    struct sl_json object = sl_json_object();
    for (size_t i = 0; i < row->n_values; i++) {
        sl_json_put(&object, row->values[i].column, value_json(&row->values[i]));
    }
    return sl_json_line(&object, json, error);
}
