#include "files/quantity.h"

#include "core/units.h"

#include <stddef.h>
#include <string.h>

/* So many decimal digits and powers of ten are exact in a double, so one division rounds right. */
#define DIGITS_MAX 15

struct unit {
    enum sl_quantity quantity;
    const char *name;
    double factor;
    double divisor; /* where that is the exact one */
};

/* The first of a quantity is the one that is taken for granted. */
static const struct unit units[] = {
    {SL_QUANTITY_SPEED, "mph", SL_MPS_PER_MPH, 1},
    {SL_QUANTITY_SPEED, "km/h", 1, 3.6},
    {SL_QUANTITY_SPEED, "m/s", 1, 1},
    {SL_QUANTITY_LENGTH, "m", 1, 1},
    {SL_QUANTITY_LENGTH, "ft", SL_M_PER_FT, 1},
    {SL_QUANTITY_GRADIENT, "%", 1, 100},
    {SL_QUANTITY_RATE, "m/s2", 1, 1},
    {SL_QUANTITY_TIME, "s", 1, 1},
    {SL_QUANTITY_ENGINE, "rpm", 1, 1},
    {SL_QUANTITY_MASS, "kg", 1, 1},
    {SL_QUANTITY_AREA, "m2", 1, 1},
    {SL_QUANTITY_TORQUE, "Nm", 1, 1},
    {SL_QUANTITY_INERTIA, "kgm2", 1, 1},
};

static const char *const examples[SL_QUANTITY_COUNT] = {
    [SL_QUANTITY_SPEED] = "a speed such as '30 mph', '50 km/h' or '13.4 m/s'",
    [SL_QUANTITY_LENGTH] = "a length such as '120 m' or '400 ft'",
    [SL_QUANTITY_GRADIENT] = "a gradient such as '-4 %', uphill positive",
    [SL_QUANTITY_RATE] = "a rate such as '1.5 m/s2'",
    [SL_QUANTITY_TIME] = "a time such as '5 s'",
    [SL_QUANTITY_ENGINE] = "an engine speed such as '850 rpm'",
    [SL_QUANTITY_MASS] = "a mass such as '1150 kg'",
    [SL_QUANTITY_AREA] = "an area such as '0.65 m2'",
    [SL_QUANTITY_TORQUE] = "a torque such as '110 Nm'",
    [SL_QUANTITY_INERTIA] = "an inertia such as '0.12 kgm2'",
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Reads a figure at the start of the text; what follows it is handed back, NULL when there is no
 * figure. */
static const char *read_number(const char *text, double *value)
{
    bool negative = *text == '-';
    if (*text == '-' || *text == '+') {
        text++;
    }
    double digits = 0;
    double scale = 1;
    int n_digits = 0;
    bool point = false;
    bool after_point = false;
    for (; is_digit(*text) || (*text == '.' && !point); text++) {
        if (*text == '.') {
            point = true;
            continue;
        }
        digits = digits * 10 + (*text - '0');
        scale = point ? scale * 10 : scale;
        after_point = point;
        n_digits++;
    }
    if (n_digits == 0 || n_digits > DIGITS_MAX || (point && !after_point)) {
        return NULL;
    }
    *value = (negative ? -digits : digits) / scale;
    return text;
}

bool sl_number_parse(const char *text, double *value)
{
    double number = 0;
    const char *rest = read_number(text, &number);
    if (rest == NULL || *rest != '\0') {
        return false;
    }
    *value = number;
    return true;
}

bool sl_quantity_parse(const char *text, enum sl_quantity quantity, double *value)
{
    double number = 0;
    const char *rest = read_number(text, &number);
    if (rest == NULL) {
        return false;
    }
    rest += strspn(rest, " ");
    for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); i++) {
        if (units[i].quantity == quantity && strcmp(rest, units[i].name) == 0) {
            *value = number * units[i].factor / units[i].divisor;
            return true;
        }
    }
    return false;
}

const char *sl_quantity_example(enum sl_quantity quantity)
{
    return examples[quantity];
}

const char *sl_quantity_unit(enum sl_quantity quantity)
{
    for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); i++) {
        if (units[i].quantity == quantity) {
            return units[i].name;
        }
    }
    return "";
}

bool sl_tyre_parse(const char *text, struct sl_car *car)
{
    double width = 0;
    double aspect = 0;
    double rim = 0;
    const char *rest = read_number(text, &width);
    if (rest == NULL || *rest != '/') {
        return false;
    }
    rest = read_number(rest + 1, &aspect);
    if (rest == NULL || (*rest != 'R' && *rest != 'r')) {
        return false;
    }
    rest = read_number(rest + 1, &rim);
    if (rest == NULL || *rest != '\0') {
        return false;
    }
    car->tyre_width_mm = width;
    car->tyre_aspect_percent = aspect;
    car->rim_in = rim;
    return true;
}
