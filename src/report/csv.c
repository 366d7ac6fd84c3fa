#include "report/csv.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

static void add_field(struct sl_str *out, const char *text)
{
    if (strpbrk(text, ",\"\r\n") == NULL) {
        sl_str_add(out, text);
        return;
    }
    sl_str_add(out, "\"");
    while (*text != '\0') {
        size_t plain = strcspn(text, "\"");
        sl_str_add_bytes(out, text, plain);
        text += plain;
        if (*text == '"') {
            sl_str_add(out, "\"\"");
            text++;
        }
    }
    sl_str_add(out, "\"");
}

/* Up to three decimals, no zeros at the end; nothing for what is no finite figure. */
static void add_figure(struct sl_str *out, double value)
{
    if (!isfinite(value)) {
        return;
    }
    struct sl_str text = {0};
    sl_str_addf(&text, "%.3f", value);
    size_t length = text.length;
    while (length > 0 && text.text[length - 1] == '0') {
        length--;
    }
    if (length > 0 && text.text[length - 1] == '.') {
        length--;
    }
    bool nothing = length == 2 && strncmp(text.text, "-0", 2) == 0;
    sl_str_add_bytes(out, nothing ? "0" : sl_str_text(&text), nothing ? 1 : length);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

static void add_value(struct sl_str *out, const struct sl_value *value)
{
    switch (value->kind) {
    case SL_VALUE_WHOLE:
        sl_str_addf(out, "%" PRId64, value->whole);
        break;
    case SL_VALUE_REAL:
        add_figure(out, value->real);
        break;
    case SL_VALUE_TEXT:
        add_field(out, value->text);
        break;
    case SL_VALUE_NONE:
        break;
    }
}

void sl_csv_columns(struct sl_str *out, const struct sl_row *row)
{
    for (size_t i = 0; i < row->n_values; i++) {
        sl_str_add(out, i > 0 ? "," : "");
        add_field(out, row->values[i].column);
    }
    sl_str_add(out, "\r\n");
}

void sl_csv_row(struct sl_str *out, const struct sl_row *row)
{
    for (size_t i = 0; i < row->n_values; i++) {
        sl_str_add(out, i > 0 ? "," : "");
        add_value(out, &row->values[i]);
    }
    sl_str_add(out, "\r\n");
}
