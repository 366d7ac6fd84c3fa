/*
 * Changing one of the recogniser's settings by name, for measuring.
 */
#ifndef BENCH_TUNING_H
#define BENCH_TUNING_H

#include "speech/recogniser.h"

#include <stdbool.h>

/* "loop_log10=-2": false when there is no such setting or no number. */
bool bench_set(struct sl_recogniser_settings *settings, const char *assignment);

#endif
