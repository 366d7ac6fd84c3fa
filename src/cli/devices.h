/*
 * Opening the devices that the user named, or those that the sound check remembers.
 */
#ifndef SL_CLI_DEVICES_H
#define SL_CLI_DEVICES_H

#include "core/status.h"
#include "core/voice.h"
#include "sound/device.h"

/* A device that is not named is the remembered one, else the system's. *voice (NULL: not wanted) is
 * how the voice sounds through the opened microphone, as the sound check measured it. Errors of
 * sl_sound_choice_load and sl_device_open. */
enum sl_status sl_devices_open(const struct sl_device_choice *named, struct sl_endpoint *endpoint,
                               struct sl_voice *voice, struct sl_error *error);

#endif
