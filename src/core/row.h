/*
 * A row of a table, for exports: named values.
 */
#ifndef SL_CORE_ROW_H
#define SL_CORE_ROW_H

#include <stddef.h>
#include <stdint.h>

enum sl_value_kind { SL_VALUE_NONE, SL_VALUE_WHOLE, SL_VALUE_REAL, SL_VALUE_TEXT };

/* Nothing is owned. */
struct sl_value {
    const char *column;
    enum sl_value_kind kind;
    int64_t whole;
    double real;
    const char *text;
};

struct sl_row {
    const struct sl_value *values;
    size_t n_values;
};

#endif
