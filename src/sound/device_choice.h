/*
 * Which of the listed devices a user means.
 */
#ifndef SL_SOUND_DEVICE_CHOICE_H
#define SL_SOUND_DEVICE_CHOICE_H

#include "sound/device.h"

enum sl_device_side { SL_DEVICE_INPUT, SL_DEVICE_OUTPUT };

/*
 * *found becomes the item of `list` that `wanted` means on that side (see struct sl_device_choice;
 * NULL: the default). SL_DEVICE when the side has no device or no default, SL_NOT_FOUND, and
 * SL_INVALID for a part of a name that several devices have, with their names in `mend`.
 */
enum sl_status sl_device_find(const struct sl_device_list *list, enum sl_device_side side,
                              const char *wanted, const struct sl_device **found,
                              struct sl_error *error);

#endif
