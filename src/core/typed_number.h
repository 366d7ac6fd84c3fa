/*
 * Numbers in typed answers: "4 mph", "ten", "2nd", "gear two". Heard ones are the phrasebook's,
 * which knows few, as each is one more that a recogniser may mix up.
 */
#ifndef SL_CORE_TYPED_NUMBER_H
#define SL_CORE_TYPED_NUMBER_H

#include "core/settings.h"

#include <stddef.h>

/*
 * How much of `text` from its place `at` on is a number that tells a speed or a gear, in figures or
 * in words, with what belongs to it; 0: none begins there. Sets *settings where there is one.
 *   a unit of speed behind it (miles or kilometres an hour): a speed, above 0, up to three figures;
 *   an ordinal up to sixth ("2nd", "second"), or "gear" beside it: a gear;
 *   neither: figures of 1 to 3 are a gear, anything from four on is a speed in mph, unless it is
 *   metres or seconds. Bare "one" to "three" are neither ("no one", "two cars").
 */
size_t sl_typed_number(const char *text, const char *at, struct sl_settings *settings);

#endif
