/*
 * Figures with units as people write them in files: "30 mph", "-4 %", "1.5 m/s2", "185/60R15".
 *
 * A figure is digits with at most one point and a sign; no exponents, no thousands marks, at most
 * 15 digits. Read the same whatever the locale.
 */
#ifndef SL_FILES_QUANTITY_H
#define SL_FILES_QUANTITY_H

#include "core/car.h"

#include <stdbool.h>

enum sl_quantity {
    SL_QUANTITY_SPEED,    /* "30 mph", "50 km/h", "13.4 m/s"; result in m/s */
    SL_QUANTITY_LENGTH,   /* "120 m", "400 ft"; metres */
    SL_QUANTITY_GRADIENT, /* "-4 %"; a fraction */
    SL_QUANTITY_RATE,     /* "1.5 m/s2"; m/s2 */
    SL_QUANTITY_TIME,     /* "5 s"; seconds */
    SL_QUANTITY_ENGINE,   /* "850 rpm"; revolutions a minute */
    SL_QUANTITY_MASS,     /* "1150 kg"; kg */
    SL_QUANTITY_AREA,     /* "0.65 m2"; m2 */
    SL_QUANTITY_TORQUE,   /* "110 Nm"; N m */
    SL_QUANTITY_INERTIA,  /* "0.12 kgm2"; kg m2 */
    SL_QUANTITY_COUNT
};

/* Reads a plain figure; false when `text` is none. */
bool sl_number_parse(const char *text, double *value);

/* Reads a figure with a unit of this quantity; blanks between them may be left out. False when it
 * is none. */
bool sl_quantity_parse(const char *text, enum sl_quantity quantity, double *value);

/* How it is written, for a mend: "a speed such as '30 mph', '50 km/h' or '13.4 m/s'". */
const char *sl_quantity_example(enum sl_quantity quantity);

/* The unit that is taken for granted when a bare figure is mended: "mph". */
const char *sl_quantity_unit(enum sl_quantity quantity);

/* Reads a tyre code "185/60R15" (ISO metric: width in mm, height in % of it, rim in inches) into
 * the car. False when it is none; the ranges are sl_car_check's. */
bool sl_tyre_parse(const char *text, struct sl_car *car);

#endif
