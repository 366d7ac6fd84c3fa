/*
 * The car: what is needed to say the engine's speed in a gear, and how it moves (motion.h).
 */
#ifndef SL_CORE_CAR_H
#define SL_CORE_CAR_H

#include "core/status.h"

#define SL_GEAR_MAX 6

/* Initialise with {0}; release with sl_car_clear. */
struct sl_car {
    char *name;                     /* file name without folder and ending; owned */
    char *title;                    /* for people; owned, may be NULL */
    double gear_ratio[SL_GEAR_MAX]; /* [0] is first gear; 0 beyond the last; each smaller than the
                                       one before */
    int n_gears;                    /* 1 to 6 */
    double final_drive;             /* 1 to 10 */
    double tyre_width_mm;           /* 100 to 400 */
    double tyre_aspect_percent;     /* 20 to 100 */
    double rim_in;                  /* 10 to 24 */
    double idle_rpm;                /* 400 to 1500 */
    double judder_rpm; /* below this, clutch up, the engine judders; about 1000, common practice */
    /* How it moves; 0: as sl_car_moving fills in. */
    double mass_kg;      /* with the driver, 500 to 3500 */
    double drag_area_m2; /* drag coefficient x frontal area, 0.2 to 2 */
    double rolling;      /* coefficient of rolling resistance, 0.005 to 0.05 */
    double torque_nm;    /* the most that the engine pulls, 40 to 800 */
    double overrun_nm;   /* engine braking, foot off: this much at standstill, 1 to 100, ... */
    double overrun_krpm; /* ... and this much more for every 1000 rpm, 0 to 50 N m */
    double inertia_kgm2; /* of what turns with the engine, 0.02 to 1 */
    double stall_rpm;    /* below this, clutch up, the engine stops; 200 to idle_rpm */
};

/* Outer diameter of the tyre in metres: 2 x width x aspect + rim (ISO metric tyre code). */
double sl_tyre_diameter_m(const struct sl_car *car);

/* Engine speed in revolutions a minute, clutch up: 60 v G F / C, C the tyre's circumference (no
 * slip, no deflection). speed_mps >= 0; gear 1 to n_gears. */
double sl_engine_rpm(const struct sl_car *car, double speed_mps, int gear);

/* The car with every figure of how it moves: those that are 0 are a small petrol car's, plausible
 * together and from memory, the engine's inertia and braking in proportion to its torque and
 * stall_rpm to its idling speed. The strings are shared with `car`. */
struct sl_car sl_car_moving(const struct sl_car *car);

/* Ranges of the fields; SL_INVALID with the value and the mend. */
enum sl_status sl_car_check(const struct sl_car *car, struct sl_error *error);

/* Releases the strings and sets the struct to {0}. */
void sl_car_clear(struct sl_car *car);

#endif
