/*
 * Units. Inside the program: metres, seconds, m/s, m/s2, radians nowhere, gradients as a fraction
 * (0.05 is 5 %), uphill positive. Miles per hour exist only where people read or say them.
 */
#ifndef SL_CORE_UNITS_H
#define SL_CORE_UNITS_H

#define SL_MPS_PER_MPH 0.44704     /* exact: 1609.344 m / 3600 s */
#define SL_MPS_PER_KMH (1.0 / 3.6) /* exact */
#define SL_M_PER_FT 0.3048         /* exact */
#define SL_GRAVITY_MPS2 9.80665    /* standard gravity, ISO 80000-3 */
#define SL_PI 3.14159265358979323846

static inline double sl_mps_from_mph(double mph)
{
    return mph * SL_MPS_PER_MPH;
}

static inline double sl_mph_from_mps(double mps)
{
    return mps / SL_MPS_PER_MPH;
}

#endif
