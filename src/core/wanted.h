/*
 * Whether a setting that was named is the one that is wanted.
 */
#ifndef SL_CORE_WANTED_H
#define SL_CORE_WANTED_H

#include "core/routine.h"
#include "core/str.h"

#include <stdbool.h>

/*
 * True when `said` names the setting (one bit) as wanted: the speed within the accepted ones, the
 * wanted mirrors among the named ones in any order, all else equal.
 */
bool sl_wanted_is_right(enum sl_setting setting, const struct sl_settings *said,
                        const struct sl_wanted *wanted);

/* True when the wanted mirrors that were named came in the wanted order. */
bool sl_wanted_in_order(const struct sl_settings *said, const struct sl_settings *wanted);

/* Adds " (8 to 12 mph counts as right)". */
void sl_wanted_add_accepted(struct sl_str *text, const struct sl_wanted *wanted);

#endif
